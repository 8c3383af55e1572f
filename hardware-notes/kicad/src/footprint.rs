//! Footprints as KiCad reads them, drawn round the pads of each package.

use std::fmt::Write;

use crate::pattern::{Footprint, Pad};
use crate::spelling::{mm, quoted};

const LIBRARY: &str = "rillmark";
/// Room round pads and body that belongs to the part, in mm; common practice, no source.
const MARGIN: f64 = 0.25;

impl Footprint {
    /// How a file names it.
    pub(crate) fn link(&self) -> String {
        format!("{LIBRARY}:{}", self.name)
    }

    /// Width and height that belong to the part, its margin included, in mm.
    pub(crate) fn size(&self) -> (f64, f64) {
        let reach = |half: fn(&Pad) -> f64, body: f64| {
            2.0 * (self.pads.iter().map(half).fold(body / 2.0, f64::max) + MARGIN)
        };
        (
            reach(|pad| pad.at.0.abs() + pad.size.0 / 2.0, self.body.0),
            reach(|pad| pad.at.1.abs() + pad.size.1 / 2.0, self.body.1),
        )
    }

    /// The footprint of a part: `head` is what stands before its drawing, `of_pad` what stands in a pad.
    pub(crate) fn text(
        &self,
        link: &str,
        head: &str,
        (part, value): (&str, &str),
        of_pad: impl Fn(&Pad) -> String,
    ) -> String {
        let (width, height) = self.size();
        let on_surface = self.pads.iter().all(|pad| pad.hole.is_none());
        let mut text = format!("(footprint {} {head}\n", quoted(link));
        // Writing to a string cannot fail, here and below.
        let _ = writeln!(
            text,
            "  (descr {})",
            quoted(&format!("{}; recalled, not checked", self.about))
        );
        let _ = writeln!(text, "  (attr {})", if on_surface { "smd" } else { "through_hole" });
        // What a chip is for is longer than the chip: KiCad shows it when asked.
        let hide = if value.chars().count() > 8 { " hide" } else { "" };
        let above = mm(-height / 2.0 - 0.6);
        let _ = writeln!(
            text,
            "  (fp_text reference {} (at 0 {above}) (layer \"F.SilkS\") (effects (font (size 0.8 0.8) (thickness 0.12))))",
            quoted(part)
        );
        let _ = writeln!(
            text,
            "  (fp_text value {} (at 0 {}) (layer \"F.Fab\"){hide} (effects (font (size 0.6 0.6) (thickness 0.1))))",
            quoted(value),
            mm(height / 2.0 + 0.5)
        );
        let mut rectangle = |layer: &str, width: f64, height: f64, line: f64| {
            let (x, y) = (mm(width / 2.0), mm(height / 2.0));
            let _ = writeln!(
                text,
                "  (fp_rect (start -{x} -{y}) (end {x} {y}) (layer \"{layer}\") (width {}) (fill none))",
                mm(line)
            );
        };
        rectangle("F.Fab", self.body.0, self.body.1, 0.1);
        rectangle("F.CrtYd", width, height, 0.05);
        if self.pads.len() > 2 {
            self.mark_first_pad(&mut text);
        }
        for pad in &self.pads {
            let kind = match pad.hole {
                None => "smd",
                Some(_) => "thru_hole",
            };
            let shape = match (pad.hole, pad.number) {
                (Some(_), 2..) => "circle",
                _ => "rect",
            };
            let layers = match pad.hole {
                None => "\"F.Cu\" \"F.Paste\" \"F.Mask\"".to_owned(),
                Some(_) => "*.Cu *.Mask".to_owned(),
            };
            let drill = pad.hole.map_or(String::new(), |hole| format!(" (drill {})", mm(hole)));
            let _ = writeln!(
                text,
                "  (pad \"{}\" {kind} {shape} (at {} {}) (size {} {}){drill} (layers {layers}){})",
                pad.number,
                mm(pad.at.0),
                mm(pad.at.1),
                mm(pad.size.0),
                mm(pad.size.1),
                of_pad(pad)
            );
        }
        text.push(')');
        text
    }

    /// The same as a file of the library.
    pub(crate) fn library_text(&self) -> String {
        let head = "(version 20211014) (generator rillmark) (layer \"F.Cu\")";
        self.text(self.name, head, ("REF**", self.name), |_| String::new()) + "\n"
    }

    /// A dot outside of the first pad, within what belongs to the part.
    fn mark_first_pad(&self, text: &mut String) {
        let first = &self.pads[0];
        let (x, y) = (first.at.0, first.at.1 - first.size.1 / 2.0 - 0.35);
        let _ = writeln!(
            text,
            "  (fp_circle (center {} {}) (end {} {}) (layer \"F.SilkS\") (width 0.15) (fill solid))",
            mm(x),
            mm(y),
            mm(x + 0.1),
            mm(y)
        );
    }
}
