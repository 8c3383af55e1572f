//! Text that people and files give: understood, or refused in one sentence.

use rillmark::command::{Context, doors};
use rillmark::foreign::{is_plain, shown};
use rillmark_metrology::front_end::{conductance, potential};
use rillmark_procedures::routine::standard::Planned;
use rillmark_proto::record::Quantity;
use rillmark_proto::units::Celsius;

use crate::Target;
use crate::alter::Alter;

const QUANTITIES: [Quantity; 3] = [Quantity::Ph, Quantity::Conductivity, Quantity::Temperature];

pub(super) fn all() -> [Target; 6] {
    [
        Target {
            name: "standards",
            check: standard,
            seeds: || lines(STANDARDS),
            alter: Alter::Text(STANDARD_WORDS),
            weight: 1500,
        },
        Target {
            name: "bottle-files",
            check: bottle,
            seeds: || BOTTLES.iter().map(|text| text.as_bytes().to_vec()).collect(),
            alter: Alter::Text(BOTTLE_WORDS),
            weight: 250,
        },
        Target {
            name: "board-files",
            check: board,
            seeds: || vec![BOARD.as_bytes().to_vec()],
            alter: Alter::Text(BOARD_WORDS),
            weight: 100,
        },
        Target {
            name: "points-tables",
            check: points,
            seeds: || TABLES.iter().map(|text| text.as_bytes().to_vec()).collect(),
            alter: Alter::Text(TABLE_WORDS),
            weight: 200,
        },
        Target {
            name: "answers",
            check: answer,
            seeds: || lines(ANSWERS),
            alter: Alter::Text(ANSWER_WORDS),
            weight: 1500,
        },
        Target {
            name: "control-lines",
            check: control,
            seeds: || lines(CONTROLS),
            alter: Alter::Text(CONTROL_WORDS),
            weight: 1893,
        },
    ]
}

fn lines(text: &str) -> Vec<Vec<u8>> {
    text.lines().map(|line| line.as_bytes().to_vec()).collect()
}

/// A sentence, of which every character can be shown.
pub(super) fn is_sentence(sentence: &str) {
    assert!(sentence.contains(' '), "no sentence: {sentence:?}");
    assert!(shown(sentence).chars().all(is_plain), "not safe to show: {sentence:?}");
}

/// A standard whose values can be computed with.
fn is_standard(planned: &Planned) {
    let text = [planned.name.as_str(), planned.lot.as_str(), planned.certificate.as_str()];
    assert!(text.iter().all(|text| text.chars().all(is_plain)), "kept, and not to be shown");
    let (from, to) = planned.source.range();
    assert!(from <= to || planned.source.is_unread(), "{from} to {to} °C");
    for celsius in [0.0, 25.0, from, to] {
        if let Ok(value) = planned.value(Celsius::new(celsius), 20_600) {
            assert!(value.value.is_finite(), "{value:?} at {celsius} °C");
            let u = value.standard_uncertainty;
            assert!(u.is_none_or(|u| u.is_finite() && u >= 0.0), "{value:?} at {celsius} °C");
        }
    }
}

fn standard(text: &[u8]) -> bool {
    let Ok(text) = str::from_utf8(text) else { return false };
    // A file is read, and that is not tried here.
    if text.contains("file=") || text.to_ascii_lowercase().contains(".toml") {
        return false;
    }
    let mut is_whole = false;
    for quantity in QUANTITIES {
        match doors::standard(text, quantity) {
            Ok(planned) => {
                is_standard(&planned);
                is_whole = true;
            }
            Err(sentence) => is_sentence(&sentence),
        }
    }
    is_whole
}

fn bottle(text: &[u8]) -> bool {
    let Ok(text) = str::from_utf8(text) else { return false };
    let mut is_whole = false;
    for quantity in QUANTITIES {
        match doors::bottle(text, quantity) {
            Ok(planned) => {
                is_standard(&planned);
                is_whole = true;
            }
            Err(sentence) => is_sentence(&sentence),
        }
    }
    is_whole
}

fn board(text: &[u8]) -> bool {
    let Ok(text) = str::from_utf8(text) else { return false };
    match doors::measured(text) {
        Ok(limits) => {
            for ohm in [20.0, 1e3, 2e5] {
                let range = conductance::range_for(ohm);
                let budget = conductance::budget_on(&limits, range, ohm);
                assert!(budget.built().is_finite() && budget.calibrated() > 0.0, "{limits:?}");
            }
            let budget = potential::budget_on(&limits, &potential::Source::electrode(100.0, 5e8));
            assert!(budget.built().is_finite() && budget.calibrated() > 0.0, "{limits:?}");
            true
        }
        Err(sentence) => {
            is_sentence(&sentence);
            false
        }
    }
}

fn points(text: &[u8]) -> bool {
    let quantity = match text.windows(9).any(|window| window == b"buffer_ph") {
        true => Quantity::Ph,
        false => Quantity::Conductivity,
    };
    let (mut out, mut progress) = (Vec::new(), Vec::new());
    let json = text.len().is_multiple_of(2);
    let mut context = Context {
        json,
        port: None,
        probe: None,
        out: &mut out,
        progress: &mut progress,
        answers: &mut &*text,
    };
    if let Err(failure) = doors::points(quantity, &mut context) {
        is_sentence(&failure.to_string());
    }
    is_output(&out, json);
    !out.is_empty()
}

/// What a terminal or another program can be given.
pub(super) fn is_output(out: &[u8], json: bool) {
    let out = str::from_utf8(out).expect("output is text");
    assert!(out.chars().all(|c| c == '\n' || is_plain(c)), "not safe to show: {out:?}");
    if json {
        for line in out.lines() {
            let value: Result<serde_json::Value, _> = serde_json::from_str(line);
            assert!(value.is_ok(), "no JSON: {line}");
        }
    }
    for word in out.split(|c: char| !c.is_alphanumeric()) {
        assert!(!matches!(word, "NaN" | "inf"), "not a number in {out}");
    }
}

fn answer(text: &[u8]) -> bool {
    // As a line is read: what is no text is replaced.
    let line = String::from_utf8_lossy(text);
    let line = line.trim();
    let (reference, decision) = (doors::reference_answer(line), doors::decision(line));
    let mut is_whole = false;
    match &reference {
        Ok(celsius) => is_whole |= celsius.is_none_or(f64::is_finite),
        Err(sentence) => is_sentence(sentence),
    }
    match &decision {
        Ok(()) => is_whole = true,
        Err(sentence) => is_sentence(sentence),
    }
    is_whole
}

fn control(text: &[u8]) -> bool {
    let line = String::from_utf8_lossy(text);
    match doors::control(&line) {
        Ok(()) => true,
        Err(sentence) => {
            is_sentence(&sentence);
            false
        }
    }
}

// Everything below is invented.

const STANDARDS: &str = "\
technical-7.00,lot=L-9,expires=2027-01-31,opened=2026-05-02
technical-4.01,single-use,u=0.02
borax,sachet,water=deionised,vessel=flask,dissolved=2026-04-03
mine,table=20:7.02/25:7.00/30:6.98,u=0.01,certificate=C 26-3
1413,tolerance=1%,opened-limit=30,at=21.5
kcl-0.01-mol-per-l,weighed,u=0.3%,beaker=air
pool,table=25:1000,u=5,lot=Ab
reference,u=0.05,lot=R-7,expires=2028-03-31,at=18.5
reference=25.03
ice,u=0.02,certificate=T 26-0311";

const STANDARD_WORDS: &[&str] = &[
    "technical-7.00",
    "technical-4.01",
    "borax",
    "1413",
    "kcl-0.01-mol-per-l",
    "reference",
    "ice",
    "mine",
    "lot=",
    "expires=",
    "opened=",
    "opened-limit=",
    "table=",
    "u=",
    "tolerance=",
    "certificate=",
    "water=",
    "vessel=",
    "dissolved=",
    "sachet",
    "weighed",
    "single-use",
    "at=",
    "beaker=",
    "deionised",
    "boiled",
    "tap",
    "flask",
    "cylinder",
    "by-eye",
    "2027-01-31",
    ",",
    "25:7.00",
    "/20:7.1",
    "%",
    "=",
];

const BOTTLES: [&str; 4] = [
    "quantity = \"ph\"\nname = \"mine\"\nvalues = [[20, 7.02], [25, 7.00], [30, 6.98]]\n\
     expanded-uncertainty = 0.02\ncoverage-factor = 2\nlot = \"L-9\"\nexpires = 2027-01-31\n",
    "quantity = \"conductivity\"\nname = \"pool\"\nvalues = [[25, 1.413]]\nunit = \"mS/cm\"\n\
     label-tolerance-percent = 1\nbasis = \"label\"\nopened = 2026-05-02\nsingle-use = true\n",
    "quantity = \"ph\"\npublished = \"borax\"\nstandard-uncertainty = 0.01\n\
     [sachet]\nwater = \"tap\"\nvessel = \"by-eye\"\ndissolved = 2026-04-03\n",
    "quantity = \"conductivity\"\npublished = \"1413\"\nweighed = true\ncertificate = \"C 26-3\"\n\
     statement = \"good for a year\"\ntraceable-to = \"a scale\"\nopened-limit-days = 30\n",
];

const BOTTLE_WORDS: &[&str] = &[
    "quantity",
    "name",
    "published",
    "values",
    "unit",
    "standard-uncertainty",
    "standard-uncertainty-percent",
    "expanded-uncertainty",
    "expanded-uncertainty-percent",
    "coverage-factor",
    "basis",
    "lot",
    "expires",
    "opened",
    "opened-limit-days",
    "single-use",
    "weighed",
    "label-tolerance",
    "label-tolerance-percent",
    "certificate",
    "statement",
    "traceable-to",
    "[sachet]",
    "water",
    "vessel",
    "dissolved",
    "\"ph\"",
    "\"conductivity\"",
    "\"uS/cm\"",
    "\"S/m\"",
    "\"mol/kg\"",
    "true",
    "false",
    "[[25, 7]]",
    "[25, 7.0],",
    "[]",
    "\"\"",
    "2027-01-31",
    "2027-01-31T00:00:00Z",
    " = ",
    "\n",
];

const BOARD: &str = "board = \"E66164084318792B\"\nmeasured = 2027-05-03\nr8-ohm = [1000.21, 0.2]\n\
    r9-ohm = [9997.6, 2]\nr10-ohm = [100013, 20]\nr11-ohm = [1999.5, 0.4]\noffset-mv = [-0.31, 0.03]\n\
    bias-fa = [45, 15]\nleak-na = [0.6, 0.2]\nsupply-v = [3.287, 0.017]\nmid-v = [1.642, 0.009]\n\
    drive-v = [0.395, 0.008]\n";

const BOARD_WORDS: &[&str] = &[
    "board",
    "r8-ohm",
    "offset-mv",
    "leak-na",
    "supply-v",
    "\"E66164084318792B\"",
    "[1000, 0.1]",
    "[0, 0.01]",
    "[]",
    "nan",
    "inf",
    "-1e300",
    " = ",
    "\n",
];

const TABLES: [&str; 4] = [
    "buffer_ph,potential_mv,temperature_c,u_buffer_ph\n7.00,-2.5,25.0,0.01\n4.01,169.3,25.1,0.01\n\
     10.01,-175.2,24.9,0.02\n",
    "buffer_ph,potential_mv,temperature_c,bottle,buffer_ph_per_kelvin\n6.86,5.1,21,a,-0.003\n\
     9.18,-121,21,b,-0.008\n6.86,5.3,21,a,-0.003\n",
    "standard_us_per_cm,conductance_us,temperature_c\n1413,1399,25\n12880,12700,25.2\n",
    "standard_us_per_cm,conductance_us,temperature_c,u_standard_us_per_cm,bottle\n84,83.1,25,0.8,x\n\
     1413,1401,24,7,y\n1413,1400,24.1,7,y\n",
];

const TABLE_WORDS: &[&str] = &[
    "buffer_ph",
    "potential_mv",
    "temperature_c",
    "u_buffer_ph",
    "buffer_ph_per_kelvin",
    "bottle",
    "standard_us_per_cm",
    "conductance_us",
    "u_standard_us_per_cm",
    "7.00,0,25\n",
    "1413,1400,25\n",
    "4.01,170,25\n",
    "84,80,25\n",
    "\n",
    ",",
    "\"a\"",
    "\u{feff}",
    "100",
    "-273.15",
    "14",
];

const ANSWERS: &str = "\
done
cancel
retry
continue
adjust
wait
leave
override the water was cold
override
25.03
18,5
-0.02";

const ANSWER_WORDS: &[&str] = &[
    "done",
    "cancel",
    "retry",
    "continue",
    "adjust",
    "wait",
    "leave",
    "override",
    "override ",
    "a reason",
    "25.0",
    "18,5",
];

const CONTROLS: &str = "\
beaker technical-7.00 21.5
beaker 1413
sample 7.2 350 18
connect cell=1000 thermometer=1077 ph=-200,1e8
fault hum 0.3
fault dropped-bytes 0.01
fault contaminated-buffer 0.1 technical-4.01
fault wrong-beaker air 20
fault guard-joint
fault adc-silent
clear
stir
still
power-cycle
unplug
plug
speed 20
status";

const CONTROL_WORDS: &[&str] = &[
    "beaker",
    "sample",
    "connect",
    "fault",
    "clear",
    "stir",
    "still",
    "power-cycle",
    "unplug",
    "plug",
    "speed",
    "status",
    "cell=",
    "thermometer=",
    "ph=",
    "hum",
    "dropped-bytes",
    "damaged-bytes",
    "adc-silent",
    "clock-silent",
    "wrong-beaker",
    "contaminated-buffer",
    "guard-joint",
    "air",
    "lake",
    "1413",
    "technical-7.00",
    "0.5",
    "25",
    " ",
];
