//! Control lines: what a person's hands do at the bench, in the words of `rillmark virtual`.

use rillmark_bench::{Ailment, BareBench, Beaker, BenchError, Content, Faults, Loads};
use serde_json::{Value, json};

/// A sample's change of conductivity per kelvin.
const PER_KELVIN: f64 = rillmark_proto::reference::compensation::DEFAULT_PER_KELVIN;

/// Carries out one line; what cannot be done is `ok: false` with a sentence.
pub(crate) fn carry_out(bench: &mut BareBench, line: &str, now_ns: u64) -> Value {
    match act(bench, line, now_ns) {
        Ok(reply) => reply,
        Err(sentence) => json!({"ok": false, "sentence": sentence}),
    }
}

fn act(bench: &mut BareBench, line: &str, now_ns: u64) -> Result<Value, String> {
    let said = |error: BenchError| error.to_string();
    let words: Vec<&str> = line.split_whitespace().collect();
    match *words.as_slice() {
        ["beaker", name, celsius] => {
            let beaker = Beaker::named(name, number(celsius)?).map_err(said)?;
            bench.place(beaker, now_ns).map_err(said)?;
        }
        ["sample", ph, us_cm, celsius] => {
            let content = Content::Sample {
                ph: number(ph)?,
                specific_us_cm: number(us_cm)?,
                per_kelvin: PER_KELVIN,
            };
            let beaker = Beaker { content, temperature_c: number(celsius)? };
            bench.place(beaker, now_ns).map_err(said)?;
        }
        ["connect", load] => {
            let source = load.strip_prefix("ph=").and_then(|it| it.split_once(','));
            let (mv, ohm) = source.ok_or_else(|| unknown(line))?;
            let electrode = Some((number(mv)?, number(ohm)?));
            bench.connect(Loads { electrode, ..Loads::default() }, now_ns);
        }
        ["stir"] => bench.stir(true, now_ns),
        ["still"] => bench.stir(false, now_ns),
        ["clear"] => bench.set_faults(Faults::default(), now_ns),
        ["fault", name] => {
            let mut faults = bench.faults().clone();
            match name {
                "adc-silent" => faults.adc_silent = true,
                "clock-silent" => faults.clock_silent = true,
                "electrode-open" => faults.electrode_open = true,
                "cell-open" => faults.cell_open = true,
                _ => {
                    let ailment = Ailment::by_name(name).ok_or_else(|| unknown(line))?;
                    faults.ailments = faults.ailments.with(ailment, 1.0);
                }
            }
            bench.set_faults(faults, now_ns);
        }
        ["status"] => {
            let water = bench.water(now_ns);
            return Ok(json!({
                "ok": true,
                "simulated_ms": now_ns / 1_000_000,
                "beaker": bench.beaker().content.name(),
                "temperature_c": water.temperature_c,
                "reference_c": bench.reference_c(now_ns),
                "ph": water.ph,
                "conductivity_us_cm": water.conductivity_us_cm,
            }));
        }
        _ => return Err(unknown(line)),
    }
    Ok(json!({"ok": true}))
}

fn unknown(line: &str) -> String {
    format!("'{line}' is no control line of the emulated board")
}

fn number(word: &str) -> Result<f64, String> {
    word.parse().map_err(|_| format!("'{word}' is not a number"))
}
