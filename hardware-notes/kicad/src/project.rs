//! The project: design rules, and where its libraries are.
//!
//! Rules are of the coarser class of a usual maker of boards (common practice, no source): a board that
//! keeps them can be made nearly anywhere. What KiCad sets by itself is laxer.

use rillmark_net_list::{BEHIND_GLASS, FILTERED, GLASS, GROUND, INPUT, Net, SUPPLY, SWITCHED};

/// The project file.
pub(crate) fn text(name: &str) -> String {
    let classes = [
        class("Default", 0.2, 0.25, &[]),
        // What leaks here is a wrong pH: keep others away, a judgement. Pins of U1 stand 0.67 mm apart.
        class("Input", 0.6, 0.3, &[GLASS, BEHIND_GLASS, INPUT]),
        class("Supply", 0.2, 0.5, &[GROUND, SUPPLY, FILTERED, SWITCHED]),
    ];
    format!(
        r#"{{
  "board": {{
    "design_settings": {{
      "rules": {{
        "min_clearance": 0.2,
        "min_copper_edge_clearance": 0.5,
        "min_hole_clearance": 0.25,
        "min_hole_to_hole": 0.5,
        "min_silk_clearance": 0.1,
        "min_through_hole_diameter": 0.3,
        "min_track_width": 0.2,
        "min_via_annular_width": 0.15,
        "min_via_diameter": 0.6
      }},
      "track_widths": [0.0, 0.25, 0.5, 1.0],
      "meta": {{ "version": 2 }}
    }}
  }},
  "net_settings": {{
    "classes": [
{}
    ],
    "meta": {{ "version": 2 }}
  }},
  "meta": {{ "filename": "{name}.kicad_pro", "version": 1 }}
}}
"#,
        classes.join(",\n")
    )
}

fn class(name: &str, clearance: f64, track: f64, nets: &[Net]) -> String {
    let nets: Vec<String> = nets.iter().map(|net| format!("\"{net}\"")).collect();
    format!(
        r#"      {{
        "name": "{name}", "clearance": {clearance}, "track_width": {track}, "via_diameter": 0.8,
        "via_drill": 0.4, "nets": [{}]
      }}"#,
        nets.join(", ")
    )
}

/// Where KiCad finds the symbols and the footprints: beside the project.
pub(crate) fn library_table(head: &str, uri: &str) -> String {
    format!(
        "({head}\n  (lib (name \"rillmark\")(type \"KiCad\")(uri \"${{KIPRJMOD}}/{uri}\")(options \"\")(descr \"\"))\n)\n"
    )
}
