use clap::Parser;
use serde_json::Value;

use super::{Options, run};
use crate::command::Context;
use crate::exit::{Exit, Failure};

/// `reference` as if it were the whole program.
#[derive(Parser)]
struct Alone {
    #[command(flatten)]
    options: Options,
    #[arg(long, global = true)]
    json: bool,
}

/// What the command prints for these arguments.
fn rillmark(arguments: &[&str]) -> Result<String, Failure> {
    let Alone { options, json } =
        Alone::try_parse_from(["reference"].iter().chain(arguments)).unwrap();
    let (mut out, mut progress, mut answers) = (Vec::new(), Vec::new(), std::io::empty());
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

fn json(arguments: &str) -> Value {
    let arguments: Vec<_> = arguments.split(' ').chain(["--json"]).collect();
    let text = rillmark(&arguments).unwrap();
    assert_eq!(text.lines().count(), 1);
    serde_json::from_str(&text).unwrap()
}

#[test]
fn every_answer_has_the_documented_keys() {
    let questions = [
        ("ph-buffer phthalate-1977 --at 25", "pH", "seen"),
        ("ph-buffer technical-10.01 --at 18.5", "pH", "computed"),
        ("conductivity-standard kcl-0.01-mol-per-l --at 20", "uS/cm", "computed"),
        ("conductivity-standard 1408 --at 20", "uS/cm", "seen"),
        ("salinity --conductivity 38 --temperature 10 --pressure 100", "1", "seen-at-one-remove"),
        (
            "compensation --conductivity 420 --temperature 12 --method linear",
            "uS/cm",
            "recalled-not-checked",
        ),
        (
            "compensation --conductivity 420 --temperature 12 --method linear \
             --percent-per-kelvin 2",
            "uS/cm",
            "common-practice",
        ),
        (
            "compensation --conductivity 420 --temperature 12 --method natural-water",
            "uS/cm",
            "computed",
        ),
        (
            "compensation --conductivity 420 --temperature 12 --method natural-water \
             --exponent 0.9",
            "uS/cm",
            "common-practice",
        ),
        ("water --conductivity 42", "mol/kg", "seen"),
        ("nernst --at -3", "mV/pH", "computed"),
        ("rtd --ohms 1077.935 --r0 1000", "degC", "seen-at-one-remove"),
    ];
    for (question, unit, tag) in questions {
        let answer = json(question);
        assert!(answer["value"].is_f64(), "{question}");
        assert_eq!(answer["unit"], unit, "{question}");
        assert_eq!(answer["tag"], tag, "{question}");
        assert!(answer["source"].as_str().is_some_and(|source| !source.is_empty()));
        let uncertainty = &answer["standard_uncertainty"];
        assert!(uncertainty.is_null() || uncertainty.as_f64().is_some_and(|u| u > 0.0));
        assert!(answer.as_object().unwrap().contains_key("standard_uncertainty"));
    }
}

#[test]
fn arguments_reach_the_relations() {
    let value = |question: &str| json(question)["value"].as_f64().unwrap();
    // Standard pressure, and the coefficient in percent.
    let surface = value("salinity --conductivity 38 --temperature 10");
    assert_eq!(surface, value("salinity --conductivity 38 --temperature 10 --pressure 0"));
    let compensated = "compensation --conductivity 420 --temperature 15 --method linear";
    assert_eq!(value(&format!("{compensated} --percent-per-kelvin 2")), 420.0 / 0.8);
    let explicit = value(&format!("{compensated} --percent-per-kelvin 1.91"));
    assert!((value(compensated) - explicit).abs() < 1e-9);
    assert_eq!(value("rtd --ohms 1100"), value("rtd --ohms 1100 --r0 1000"));
    assert!((value("rtd --ohms 1100") - value("rtd --ohms 110 --r0 100")).abs() < 1e-9);
}

/// The factor of a natural water at 15 °C: 1.256 (REFERENCES 10; recalled, not checked).
#[test]
fn natural_water_is_compensated_by_the_viscosity() {
    let question = "compensation --conductivity 100 --temperature 15 --method natural-water";
    let answer = json(question);
    let [value, factor, u] =
        ["value", "factor", "standard_uncertainty"].map(|key| answer[key].as_f64().unwrap());
    assert_eq!((format!("{factor:.3}"), value), ("1.256".to_owned(), 100.0 * factor));
    assert!(u > 0.015 * value && u < 0.02 * value, "{u}");
    // Of an own exponent only the user knows how good it is.
    let own = json(&format!("{question} --exponent 0.929"));
    assert_eq!((&own["value"], own["standard_uncertainty"].is_null()), (&answer["value"], true));
}

#[test]
fn a_water_is_told_by_its_class() {
    let keys = |us_cm: &str| {
        let answer = json(&format!("water --conductivity {us_cm}"));
        let u = answer["junction_standard_uncertainty_ph"].as_f64().unwrap();
        (answer["class"].as_str().unwrap().to_owned(), u)
    };
    let ((dilute, u_dilute), (ordinary, u_ordinary)) = (keys("42"), keys("420"));
    assert_eq!((dilute.as_str(), ordinary.as_str()), ("dilute", "ordinary"));
    assert!(u_dilute > u_ordinary);
    insta::assert_snapshot!(rillmark(&["water", "--conductivity", "42"]).unwrap());
}

#[test]
fn an_undefined_salinity_is_null_with_a_reason() {
    let answer = json("salinity --conductivity 0 --temperature 15");
    assert!(answer["value"].is_null());
    assert_eq!(answer["not_defined"], "conductivity-too-low");
    let text = rillmark(&["salinity", "--conductivity", "0", "--temperature", "15"]).unwrap();
    assert!(text.contains("not defined") && !text.contains("NaN"));
}

#[test]
fn what_cannot_be_used_is_one_sentence_that_says_what_can() {
    let questions = [
        ("ph-buffer phthalate --at 25", "phthalate-1962, phthalate-1977, phthalate-2002"),
        ("ph-buffer tartrate --at 20", "from 25 to 50"),
        ("ph-buffer borax --at -3", "but -3 was given"),
        ("ph-buffer borax --at 50.000001", "but 50.000001 was given"),
        ("ph-buffer borax --at NaN", "but NaN was given"),
        ("conductivity-standard 0.01 --at 25", "kcl-0.01-mol-per-kg"),
        ("conductivity-standard 1413 --at inf", "from 0 to 50"),
        ("salinity --conductivity 60 --temperature 15", "0 to 42"),
        ("salinity --conductivity NaN --temperature 15", "NaN"),
        ("salinity --conductivity 30 --temperature 15 --pressure -5", "0 to 10000"),
        ("compensation --conductivity -1 --temperature 15 --method linear", "from 0 up"),
        ("compensation --conductivity inf --temperature 15 --method linear", "inf"),
        (
            "compensation --conductivity 1 --temperature 15 --method linear \
             --percent-per-kelvin 11",
            "from 0 to 10",
        ),
        ("compensation --conductivity 1 --temperature 51 --method natural-water", "from -2 to 50"),
        (
            "compensation --conductivity 1 --temperature 15 --method natural-water --exponent 2",
            "from 0.5 to 1.2",
        ),
        (
            "compensation --conductivity 1 --temperature 15 --method natural-water \
             --percent-per-kelvin 2",
            "takes --exponent",
        ),
        (
            "compensation --conductivity 1 --temperature 15 --method linear --exponent 0.9",
            "takes --percent-per-kelvin",
        ),
        ("water --conductivity -1", "from 0 to 300000"),
        ("nernst --at 200", "from -40 to 150"),
        ("nernst --at NaN", "NaN"),
        ("rtd --ohms 0", "842.7"),
        ("rtd --ohms 1000 --r0 0", "from 10 to 10000"),
    ];
    for (question, part) in questions {
        let failure = rillmark(&question.split(' ').collect::<Vec<_>>()).unwrap_err();
        assert_eq!(failure.exit, Exit::BadInput, "{question}");
        assert!(failure.sentence.contains(part), "{question}: {}", failure.sentence);
        assert_eq!(failure.sentence.lines().count(), 1);
    }
}

#[test]
fn the_list_names_everything_with_its_range() {
    use rillmark_metrology::reference::{buffers, conductivity_standards};
    let list = json("list");
    let buffers_listed = list["buffers"].as_array().unwrap();
    let standards = list["conductivity_standards"].as_array().unwrap();
    assert_eq!(buffers_listed.len(), buffers::ALL.len());
    assert_eq!(standards.len(), conductivity_standards::ALL.len());
    for row in buffers_listed.iter().chain(standards) {
        assert!(row["range"]["min"].is_f64() && row["range"]["max"].is_f64(), "{row}");
        for key in ["name", "unit", "basis", "source", "tag"] {
            assert!(row[key].is_string(), "{key} of {row}");
        }
    }
    let text = rillmark(&["list"]).unwrap();
    for row in buffers_listed.iter().chain(standards) {
        assert!(text.contains(row["name"].as_str().unwrap()));
    }
}

#[test]
fn a_table_for_people_says_source_and_tag() {
    let text = rillmark(&["conductivity-standard", "1408", "--at", "20"]).unwrap();
    insta::assert_snapshot!(text, @r"
    value                 1273.03 µS/cm
    standard uncertainty  0.38 µS/cm
    uncertainty from      CRC Handbook, p. 5-73: 0.03 %, taken as k = 1 (seen: read in a copy of the source)
    basis                 mol per kg of water
    source                CRC Handbook of Chemistry and Physics, p. 5-73, after Pratt et al., Pure Appl. Chem. 73, 1783 (2001); interpolated between 5 °C steps
    tag                   seen: read in a copy of the source
    ");
}

#[test]
fn a_salinity_out_of_range_is_answered_in_the_unit_that_was_typed() {
    let failure =
        rillmark(&["salinity", "--conductivity", "420", "--temperature", "15"]).unwrap_err();
    assert!(failure.sentence.contains("mS/cm from 0 to 100, but 420"), "{failure}");
}
