use clap::Parser;
use proptest::prelude::*;
use rillmark_proto::calibration::ph::DEFAULT_ISOPOTENTIAL;
use serde_json::Value;

use super::{Options, PH_COLUMNS, Points, run};
use crate::command::Context;
use crate::exit::{Exit, Failure};

/// `fit` as if it were the whole program.
#[derive(Parser)]
struct Alone {
    #[command(flatten)]
    options: Options,
    #[arg(long, global = true)]
    json: bool,
}

/// What the command prints for a table on standard input.
fn rillmark(arguments: &[&str], table: &[u8]) -> Result<String, Failure> {
    let Alone { options, json } = Alone::try_parse_from(["fit"].iter().chain(arguments)).unwrap();
    let (mut out, mut progress, mut answers) = (Vec::new(), Vec::new(), table);
    let mut context = Context {
        json,
        port: None,
        probe: None,
        out: &mut out,
        progress: &mut progress,
        answers: &mut answers,
    };
    run(options, &mut context)?;
    Ok(String::from_utf8(out).unwrap())
}

fn json(arguments: &[&str], table: &str) -> Value {
    let arguments = [arguments, &["--json"]].concat();
    let text = rillmark(&arguments, table.as_bytes()).unwrap();
    assert_eq!(text.lines().count(), 1);
    serde_json::from_str(&text).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is not a number"))
}

fn near(got: &Value, expected: f64, tolerance: f64) {
    let got = number(got);
    assert!((got - expected).abs() <= tolerance, "{got} against {expected}");
}

/// An electrode of 98 % and +5 mV in three buffers at differing temperatures. Potentials computed
/// from E = E₀ − s·k(T)·(pH − 7) with k from the exact SI constants.
fn three_points() -> String {
    let row = |ph: f64, t: f64| {
        // In proportion to the Nernst factor at 25 °C, 59.159 350 mV; computed.
        let k = 59.159_35 / 298.15 * (t + 273.15);
        format!("{ph},{:.6},{t}\n", 5.0 - 0.98 * k * (ph - 7.0))
    };
    [
        "buffer_ph,potential_mv,temperature_c\n".to_owned(),
        row(4.0, 12.0),
        row(6.88, 20.0),
        row(9.1, 35.0),
    ]
    .concat()
}

#[test]
fn a_ph_line_has_the_documented_keys() {
    let answer = json(&["ph", "-", "--evaluate", "-54.0,10"], &three_points());
    let keys: Vec<_> = answer.as_object().unwrap().keys().map(String::as_str).collect();
    let mut documented = [
        "calibrated_at_c",
        "chi_squared",
        "degrees_of_freedom",
        "isopotential_ph",
        "isopotential_ph_standard_uncertainty",
        "widening",
        "slope_percent",
        "slope_mv_per_ph_25c",
        "offset_mv",
        "standard_uncertainty",
        "correlation",
        "residual_ph",
        "default_u_buffer_ph",
        "bottle",
        "judgements",
        "ph",
        "ph_standard_uncertainty",
    ];
    documented.sort_unstable();
    let mut sorted = keys;
    sorted.sort_unstable();
    assert_eq!(sorted, documented);
    near(&answer["slope_percent"], 98.0, 1e-5);
    near(&answer["slope_mv_per_ph_25c"], 0.98 * 59.159_35, 1e-5);
    near(&answer["offset_mv"], 5.0, 1e-5);
    // 7 + (5 + 54)/(0.98 · 56.1830), Nernst factor at 10 °C computed.
    near(&answer["ph"], 8.071_58, 1e-4);
    assert!(number(&answer["ph_standard_uncertainty"]) > 0.0);
    assert!(number(&answer["standard_uncertainty"]["slope_percent"]) > 0.0);
    assert!(number(&answer["standard_uncertainty"]["offset_mv"]) > 0.0);
    assert!(number(&answer["correlation"]).abs() <= 1.0);
    let residuals = answer["residual_ph"].as_array().unwrap();
    assert_eq!(residuals.len(), 3);
    residuals.iter().for_each(|residual| near(residual, 0.0, 1e-6));
    // 12 to 35 °C: worth a note.
    let judgements = answer["judgements"].as_array().unwrap();
    assert_eq!(judgements.len(), 1);
    assert_eq!(judgements[0]["code"], "temperatures-differ");
    assert_eq!(judgements[0]["severity"], "note");
    assert!(judgements[0]["sentence"].as_str().unwrap().contains("23.0 K"));
    assert!(!judgements[0]["source"].as_str().unwrap().is_empty());
    assert_eq!(
        answer.get("ph"),
        json(&["ph", "-", "--evaluate=-54,10"], &three_points()).get("ph")
    );
    assert_eq!(json(&["ph", "-"], &three_points()).get("ph"), None);
}

#[test]
fn residuals_stand_in_row_order_and_poor_lines_are_judged() {
    let table = "buffer_ph,potential_mv,temperature_c\n4,160,25\n7,10,25\n10,-160,25\n";
    let answer = json(&["ph", "-"], table);
    let residuals: Vec<f64> =
        answer["residual_ph"].as_array().unwrap().iter().map(number).collect();
    // A point 10 mV high in the middle of three: −2/3 of it there, +1/3 at both ends, in pH. Buffers
    // that are uncertain too make the line a little steeper: 0.2 mV at the ends, by hand.
    let slope = 160.0 / 3.0;
    for (got, mv) in residuals.iter().zip([10.0 / 3.0, -20.0 / 3.0, 10.0 / 3.0]) {
        assert!((got - mv / slope).abs() < 0.2 / slope, "{got}");
    }
    let codes: Vec<_> =
        answer["judgements"].as_array().unwrap().iter().map(|j| &j["code"]).collect();
    assert!(codes.contains(&&Value::from("slope-out-of-band")), "{codes:?}");
    assert!(codes.contains(&&Value::from("residual-large")), "{codes:?}");
}

#[test]
fn columns_in_any_order_blank_lines_spaces_quotes_and_a_mark_are_tolerated() {
    let plain = "buffer_ph,potential_mv,temperature_c,u_buffer_ph\n4,170,20,0.01\n7,2,21,\n9,-110,22,0.02\n";
    let odd = "\u{feff}\n temperature_c , \"u_buffer_ph\",potential_mv,buffer_ph\r\n\r\n \
               20,0.01 , 170,4\r\n,,,\r\n21,,2,7\r\n  \n22,\"0.02\",-110,9";
    assert_eq!(json(&["ph", "-"], plain), json(&["ph", "-"], odd));
    let unstated = json(&["ph", "-"], &plain.replace("0.02", ""));
    assert_ne!(json(&["ph", "-"], plain)["slope_percent"], unstated["slope_percent"]);
}

#[test]
fn a_cell_constant_has_the_documented_keys() {
    let table = "standard_us_per_cm,conductance_us,temperature_c\n1305,1450,21\n12620,14100,22.9\n";
    let answer = json(&["conductivity", "-"], table);
    let constant = number(&answer["cell_constant_per_cm"]);
    // Computed in Python: the least sum of squares over 1e6/G against 1e6/K with a point 0 ± 0.5 Ω at 0;
    // relative standard uncertainties √(0.8² + (0.05·1.91)²) % and 0.2 %.
    near(&answer["cell_constant_per_cm"], 0.898_205_17, 1e-6);
    // And 0.3656 K of the thermometer, 1.91 % each: by hand √(0.006097² + 0.006278²).
    near(&answer["standard_uncertainty"]["cell_constant_per_cm"], 0.008_751, 1e-5);
    near(&answer["series_ohm"], -0.098_265, 1e-5);
    let residuals = answer["residual_percent"].as_array().unwrap();
    assert!(residuals.iter().all(|residual| number(residual).abs() < 0.3), "{residuals:?}");
    assert_eq!(residuals.len(), 2);
    assert!(constant > 0.89);
    assert_eq!(answer["judgements"], Value::Array(vec![]));
}

#[test]
fn what_cannot_be_used_is_one_sentence_with_file_and_line() {
    const PH: &str = "buffer_ph,potential_mv,temperature_c\n";
    let row = |rows: &str| format!("{PH}{rows}").into_bytes();
    let ph: &[(Vec<u8>, &[&str])] = &[
        (b"".to_vec(), &["is empty", "buffer_ph,potential_mv,temperature_c"]),
        (b"\n \n".to_vec(), &["is empty"]),
        (b"4,170,20\n7,0,20\n".to_vec(), &["line 1", "\"4\" is not known"]),
        (b"buffer_ph,potential_mv\n4,170\n".to_vec(), &["line 1", "temperature_c", "missing"]),
        (b"buffer_ph,buffer_ph,potential_mv,temperature_c\n".to_vec(), &["twice"]),
        (b"buffer_ph;potential_mv;temperature_c\n".to_vec(), &["line 1", "commas"]),
        (row("4,170,20\n\n7,zero,20\n"), &["line 4", "potential_mv", "\"zero\""]),
        (row("4,170,20\n7,nan,20\n"), &["line 3", "potential_mv"]),
        (row("4,170,20\n7,,20\n"), &["line 3", "potential_mv is empty"]),
        (row("4,170,20\n7,0,5,20\n"), &["line 3", "4 cells", "decimals with a point"]),
        (row("4,170,20\n7,0\n"), &["line 3", "2 cells"]),
        (row("4,170,20\n4,171,20\n"), &["pH 4", "no slope"]),
        (row("4,170,20\n\n7,0,120\n"), &["line 4", "temperature", "120"]),
        (row("4,170,20\n70,0,20\n"), &["line 3", "70"]),
        (row("4,170,20\n7,-1e300,20\n"), &["line 3", "is -1e300, but"]),
        ([PH.as_bytes(), b"4,\xff,20\n"].concat(), &["line 2", "UTF-8"]),
        (vec![0xff, 0xfe, 0x00], &["line 1", "UTF-8"]),
    ];
    for (table, parts) in ph {
        let failure = rillmark(&["ph", "-"], table).unwrap_err();
        assert_eq!(failure.exit, Exit::BadInput, "{failure}");
        for part in [&["standard input"], *parts].concat() {
            assert!(failure.sentence.contains(part), "{failure} should say {part}");
        }
        assert!(!failure.sentence.contains('\n') && failure.sentence.ends_with('.'), "{failure}");
    }
    let empty = b"standard_us_per_cm,conductance_us,temperature_c\n";
    let failure = rillmark(&["conductivity", "-"], empty).unwrap_err();
    assert!(failure.sentence.contains("at least 1"), "{failure}");
    let failure = rillmark(&["ph", "no/such.csv"], b"").unwrap_err();
    assert_eq!(failure.exit, Exit::Storage);
    assert!(failure.sentence.contains("no/such.csv"), "{failure}");
}

#[test]
fn a_potential_without_a_ph_is_refused() {
    let evaluate =
        |what: &str| rillmark(&["ph", "-", "--evaluate", what], three_points().as_bytes());
    for what in ["2000,25", "0,120"] {
        let failure = evaluate(what).unwrap_err();
        assert_eq!(failure.exit, Exit::BadInput);
        assert!(failure.sentence.contains("has no pH"), "{failure}");
    }
    for what in ["12", "a,b", "nan,25", "1,2,3", ""] {
        assert!(Alone::try_parse_from(["fit", "ph", "-", "--evaluate", what]).is_err(), "{what}");
    }
}

#[test]
fn a_table_for_people_shows_value_uncertainty_and_judgements() {
    let text = rillmark(&["ph", "-", "--evaluate", "-54,10"], three_points().as_bytes()).unwrap();
    for part in ["98.00 % of Nernst", "+5.00 mV", "residual pH", "8.07", "note: The standards'"] {
        assert!(text.contains(part), "{part} in\n{text}");
    }
    let table = b"standard_us_per_cm,conductance_us,temperature_c\n1305,1450,21\n";
    let text = rillmark(&["conductivity", "-"], table).unwrap();
    assert!(text.contains("0.90000 /cm (standard uncertainty 0.00979 /cm)"), "{text}");
}

/// One point: the offset from it, the slope from before. 7 + (2 − 2)/… at the point; the budget's sum
/// is that of its parts.
#[test]
fn a_single_point_takes_a_slope_from_before_and_the_budget_adds_up() {
    let table = "buffer_ph,potential_mv,temperature_c\n7,2,25\n";
    let arguments = ["ph", "-", "--slope", "97,1.5", "--evaluate=174.2,25", "--budget"];
    let answer = json(&arguments, table);
    near(&answer["slope_percent"], 97.0, 1e-9);
    near(&answer["offset_mv"], 2.0, 1e-9);
    near(&answer["ph"], 7.0 - 172.2 / (0.97 * 59.159_35), 1e-4);
    let parts = answer["budget"]["contributions"].as_array().unwrap();
    let sum: f64 = parts.iter().map(|part| number(&part["u_ph"]).powi(2)).sum();
    near(&answer["budget"]["standard_uncertainty"], sum.sqrt(), 1e-12);
    // Three pH away 1.5 % of slope are 0.046 pH, and with the buffer's 0.015 pH the largest part.
    let largest = parts.iter().map(|part| number(&part["u_ph"])).fold(0.0, f64::max);
    assert!((largest - 0.0490).abs() < 1e-3, "{largest}");
    let text = rillmark(&arguments, table.as_bytes()).unwrap();
    for part in
        ["residual liquid-junction potential", "expanded", "k = 2", "warning", "A single buffer"]
    {
        assert!(text.contains(part), "{part} in\n{text}");
    }
    let nominal = json(&["ph", "-"], table);
    near(&nominal["slope_percent"], 98.5, 1e-9);
}

/// Points of an electrode with an isopotential pH of 6.5 at 10 and 30 °C: computed from the line.
#[test]
fn two_temperatures_tell_the_isopotential_ph() {
    let rows: String = [4.0, 7.0, 9.0]
        .iter()
        .flat_map(|ph| [10.0, 30.0].map(|t| (ph, t)))
        .map(|(ph, t)| {
            let k = |t: f64| 59.159_35 / 298.15 * (t + 273.15);
            let e = -(k(t) * (ph - 7.0) - (k(t) - k(20.0)) * (6.5 - 7.0));
            format!("{ph},{e:.6},{t}\n")
        })
        .collect();
    let table = format!("buffer_ph,potential_mv,temperature_c\n{rows}");
    let answer = json(&["ph", "-", "--isopotential", "measure"], &table);
    near(&answer["isopotential_ph"], 6.5, 1e-3);
    assert!(number(&answer["isopotential_ph_standard_uncertainty"]) < 0.2);
    near(&answer["isopotential_ph_points_standard_uncertainty"], 0.15, 0.05);
    // Read again and again they say no more.
    let often = format!("buffer_ph,potential_mv,temperature_c\n{}", rows.repeat(20));
    let again = json(&["ph", "-", "--isopotential", "measure"], &often);
    let u = "isopotential_ph_standard_uncertainty";
    near(&again[u], number(&answer[u]), 1e-6);
    // At one temperature nobody can tell.
    let alike = "buffer_ph,potential_mv,temperature_c\n4,177,25\n7,0,25\n9,-118,25\n";
    let kept = json(&["ph", "-", "--isopotential", "measure"], alike);
    assert_eq!(
        (number(&kept["isopotential_ph"]), number(&kept[u])),
        (7.0, DEFAULT_ISOPOTENTIAL.standard_uncertainty)
    );
    let told = rillmark(&["ph", "-", "--isopotential", "measure"], alike.as_bytes()).unwrap();
    assert!(told.contains("not known, and left at its default"), "{told}");
    for what in ["7", "seven,0.1", "70,0.1", "7,-1"] {
        assert!(
            Alone::try_parse_from(["fit", "ph", "-", "--isopotential", what]).is_err(),
            "{what}"
        );
    }
}

/// Three buffers at 15 and 35 °C that contradict each other (invented). Slope, offset and isopotential pH by
/// weighted least squares with numpy 2: 6.47 with 0.106, chi-squared 132 of 3 degrees, so 0.70, which is
/// more than the default's 0.4.
#[test]
fn buffers_that_contradict_each_other_tell_no_isopotential_ph() {
    let table = "buffer_ph,potential_mv,temperature_c,u_buffer_ph,bottle\n4.000,176,15,0.005,a\n\
                 6.900,6,15,0.005,b\n9.276,-128,15,0.005,c\n4.018,180,35,0.005,a\n\
                 6.844,14,35,0.005,b\n9.102,-130,35,0.005,c\n";
    let answer = json(&["ph", "-", "--isopotential", "measure"], table);
    near(&answer["isopotential_ph_points_standard_uncertainty"], 0.70, 0.03);
    near(&answer["isopotential_ph"], 7.0, 0.0);
    near(
        &answer["isopotential_ph_standard_uncertainty"],
        DEFAULT_ISOPOTENTIAL.standard_uncertainty,
        0.0,
    );
    assert!(number(&answer["widening"]) > 10.0, "{answer}");
    let text = rillmark(&["ph", "-", "--isopotential", "measure"], table.as_bytes()).unwrap();
    assert!(text.contains("the points tell it to 0.7"), "{text}");
}

#[test]
fn any_number_of_rows() {
    let rows: String =
        (0..50_000).map(|n| if n % 2 == 0 { "4,170,20\n" } else { "9,-110,20\n" }).collect();
    let answer = json(&["ph", "-"], &format!("buffer_ph,potential_mv,temperature_c\n{rows}"));
    assert_eq!(answer["residual_ph"].as_array().unwrap().len(), 50_000);
}

/// Three buffers, once and fifty times: what a bottle is off is in all its rows, so u shrinks no further
/// than what its own repeatability had made of it.
#[test]
fn rows_of_one_bottle_share_its_error() {
    let header = "buffer_ph,potential_mv,temperature_c";
    let rows = ["4.00,171.2,25", "6.88,5.9,25", "9.23,-129.5,25"];
    let table = |times: usize| format!("{header}\n{}\n", vec![rows.join("\n"); times].join("\n"));
    let at_7 = ["ph", "-", "--evaluate=-25,25"];
    let (once, often) = (json(&at_7, &table(1)), json(&at_7, &table(50)));
    let u = |answer: &Value| number(&answer["ph_standard_uncertainty"]);
    assert!(u(&often) > 0.9 * u(&once) && u(&often) < u(&once), "{} {}", u(&once), u(&often));
    let codes = |answer: &Value| {
        let judgements = answer["judgements"].as_array().unwrap().clone();
        judgements.iter().map(|it| it["code"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert!(!codes(&once).contains(&"points-share-bottles".to_owned()));
    assert!(codes(&often).contains(&"points-share-bottles".to_owned()));
    // As many bottles as rows: their errors average out.
    let named: String = (0..50)
        .flat_map(|n| rows.iter().enumerate().map(move |(b, row)| format!("{row},{n}-{b}\n")))
        .collect();
    let apart = json(&at_7, &format!("{header},bottle\n{named}"));
    assert!(u(&apart) < 0.2 * u(&once), "{}", u(&apart));
    assert_eq!(codes(&apart), Vec::<String>::new());
    let text = rillmark(&["ph", "-"], table(50).as_bytes()).unwrap();
    assert!(text.contains("150 points were taken in 3 bottles"), "{text}");
}

/// A middle bottle that is off, read once and five times (invented). Chi-squared of the bottles computed with
/// scipy 1.17.1: least squares with an unknown error for each bottle, less what is within the bottles.
#[test]
fn a_bottle_that_is_off_shows_however_often_it_is_read() {
    let header = "buffer_ph,potential_mv,temperature_c,bottle\n";
    let once = "4.006,171.20,25,a\n6.865,3.25,25,b\n9.18,-125.05,25,c\n";
    let potentials = [
        (171.24, 3.29, -124.96),
        (171.36, 3.11, -124.99),
        (171.13, 3.12, -125.02),
        (171.22, 3.24, -124.95),
        (171.42, 3.29, -125.16),
    ];
    let often: String = potentials
        .iter()
        .map(|(a, b, c)| format!("4.006,{a},25,a\n6.865,{b},25,b\n9.18,{c},25,c\n"))
        .collect();
    for (rows, chi_squared) in [(once, 14.474), (&often, 16.537)] {
        let answer = json(&["ph", "-"], &format!("{header}{rows}"));
        near(&answer["chi_squared"], chi_squared, 0.02);
        assert_eq!(answer["degrees_of_freedom"], 1);
        near(&answer["widening"], chi_squared, 0.02);
        let text = rillmark(&["ph", "-"], format!("{header}{rows}").as_bytes()).unwrap();
        assert!(text.contains("where about 1 is expected: the points contradict"), "{text}");
    }
}

/// The same of conductivity standards, three bottles, once and four times (invented; computed likewise).
#[test]
fn a_standard_that_is_off_shows_however_often_it_is_read() {
    let header = "standard_us_per_cm,conductance_us,temperature_c,u_standard_us_per_cm,bottle\n";
    let table = |conductances: &[(f64, f64, f64)]| {
        let rows = conductances.iter().map(|(a, b, c)| {
            format!("1413,{a},25,5.652,a\n12880,{b},25,51.52,b\n146.9,{c},25,0.5876,c\n")
        });
        format!("{header}{}", rows.collect::<String>())
    };
    let once = table(&[(1399.967, 12400.886, 143.032)]);
    let often = table(&[
        (1399.645, 12398.512, 142.914),
        (1399.788, 12391.828, 142.939),
        (1400.463, 12391.810, 143.034),
        (1400.138, 12398.838, 143.020),
    ]);
    for (rows, chi_squared) in [(once, 14.269), (often, 17.377)] {
        let answer = json(&["conductivity", "-"], &rows);
        near(&answer["chi_squared"], chi_squared, 0.2);
        assert_eq!(answer["degrees_of_freedom"], 2);
        near(&answer["widening"], 0.5 * chi_squared, 0.1);
        let codes = answer["judgements"].to_string();
        assert!(codes.contains("conductivity-points-contradict"), "{codes}");
    }
}

#[test]
fn a_bottle_is_named_or_known_by_its_value() {
    let bottles = |table: &str| {
        let answer = json(&["conductivity", "-"], table);
        let numbers = answer["bottle"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap());
        numbers.collect::<Vec<_>>()
    };
    // 1413 µS/cm at 25 °C is 1305 at 21 °C.
    let plain = "standard_us_per_cm,conductance_us,temperature_c\n1413,1413,25\n1305,1305,21\n\
                 12880,12880,25\n";
    assert_eq!(bottles(plain), [1, 1, 2]);
    let named = "bottle,standard_us_per_cm,conductance_us,temperature_c,u_standard_us_per_cm\n\
                 A,1413,1413,25,14\nB,1413,1413,25,14\n,1413,1413,25,\nA,1413,1413,25,14\n";
    assert_eq!(bottles(named), [1, 2, 3, 1]);
    let poor = named.replace("25,14", "25,1500");
    let failure = rillmark(&["conductivity", "-"], poor.as_bytes()).unwrap_err();
    assert!(failure.sentence.contains("line 2") && failure.sentence.contains("1500"), "{failure}");
}

proptest! {
    /// Any bytes under any beginning are a table or one sentence, and a table has all its numbers.
    #[test]
    fn any_bytes_are_a_table_or_a_sentence(
        header in prop::sample::select(
            ["", "buffer_ph,potential_mv,temperature_c\n", "\u{feff}temperature_c,u_buffer_ph,\
             potential_mv,buffer_ph\n"].to_vec(),
        ),
        rows in prop_oneof![
            prop::collection::vec(any::<u8>(), 0..200),
            "[0-9.,\"\n -]{0,200}".prop_map(String::into_bytes),
            "([0-9]{1,3},[0-9]{1,3},[0-9]{1,2}\n){0,9}".prop_map(String::into_bytes),
        ],
    ) {
        match Points::parse("it", &[header.as_bytes(), &rows].concat(), &PH_COLUMNS) {
            Ok(points) => {
                for [buffer, potential, temperature, ..] in points.rows() {
                    prop_assert!(buffer.is_some() && potential.is_some() && temperature.is_some());
                }
            }
            Err(sentence) => prop_assert!(!sentence.contains('\n') && sentence.starts_with("it")),
        }
    }
}

/// What the command prints and how it ends.
fn ends(arguments: &[&str], table: &str) -> (String, Result<(), Failure>) {
    let Alone { options, json } = Alone::try_parse_from(["fit"].iter().chain(arguments)).unwrap();
    let (mut out, mut progress, mut answers) = (Vec::new(), Vec::new(), table.as_bytes());
    let mut context = Context {
        json,
        port: None,
        probe: None,
        out: &mut out,
        progress: &mut progress,
        answers: &mut answers,
    };
    let result = run(options, &mut context);
    (String::from_utf8(out).unwrap(), result)
}

#[test]
fn what_is_refused_is_printed_and_no_success() {
    let flat = "buffer_ph,potential_mv,temperature_c\n4,10,25\n7,4,25\n10,-3,25\n";
    for arguments in [&["ph", "-"][..], &["ph", "-", "--json"]] {
        let (text, result) = ends(arguments, flat);
        assert!(text.contains("% of Nernst"), "{text}");
        assert_eq!(result.expect_err("3.7 % of Nernst").exit, Exit::Refused);
    }
    // A conductance in mS where the others are in µS.
    let unit = "standard_us_per_cm,conductance_us,temperature_c\n84,84.2,25\n1413,1410,25\n12880,12.88,25\n";
    let (text, result) = ends(&["conductivity", "-"], unit);
    assert_eq!(result.expect_err("a factor of thousands").exit, Exit::Refused);
    assert!(text.contains("disagree by a factor of"), "{text}");
}

#[test]
fn one_bottle_holds_one_solution() {
    let two = "bottle,buffer_ph,potential_mv,temperature_c\nA,4,171,20\nB,6.88,6,20\nA,6.88,5,20\n";
    let failure = ends(&["ph", "-"], two).1.expect_err("two solutions");
    assert_eq!(failure.exit, Exit::BadInput);
    assert!(failure.sentence.contains("lines 2 and 4"), "{failure}");
    // Borax at 10 and 40 °C.
    let warm =
        "bottle,buffer_ph,potential_mv,temperature_c\nA,4,171,20\nB,9.33,-130,10\nB,9.07,-125,40\n";
    assert!(ends(&["ph", "-"], warm).1.is_ok());
    let cell =
        "bottle,standard_us_per_cm,conductance_us,temperature_c\nA,84,84.2,25\nA,1413,1410,25\n";
    let failure = ends(&["conductivity", "-"], cell).1.expect_err("two solutions");
    assert!(failure.sentence.contains("lines 2 and 3"), "{failure}");
}

#[test]
fn what_is_taken_where_nothing_is_stated_is_said() {
    let table = "buffer_ph,potential_mv,temperature_c,u_buffer_ph\n4,171,20,\n6.88,6,20,0.01\n9.2,-130,20,\n";
    let (text, _) = ends(&["ph", "-"], table);
    assert!(text.contains("No u_buffer_ph is given in rows 1 and 3: 0.015 pH"), "{text}");
    let keys = json(&["ph", "-"], table);
    assert_eq!(keys["default_u_buffer_ph"]["points"], serde_json::json!([1, 3]));
    let one = "buffer_ph,potential_mv,temperature_c,u_buffer_ph\n6.88,6,20,0.01\n";
    let (text, _) = ends(&["ph", "-"], one);
    assert!(!text.contains("is given in") && text.contains("is assumed"), "{text}");
    let (text, _) = ends(&["ph", "-", "--slope", "97,1"], one);
    assert!(text.contains("is taken from before"), "{text}");
}
