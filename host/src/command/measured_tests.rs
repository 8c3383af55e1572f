use super::*;

const BOARD: &str = "board = \"E66164084318792B\"\n";

fn of(lines: &str) -> Result<BoardLimits, String> {
    understand(&format!("{BOARD}{lines}"))
        .map(|known| known.limits)
        .map_err(|(_, sentence)| sentence)
}

fn near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-6 * wanted.abs(), "{got}, not {wanted}");
}

#[test]
fn each_line_takes_the_place_of_a_limit() {
    let limits = of("measured = 2027-05-03\nr8-ohm = [1000.2, 0.1]\nr11-ohm = [1999, 1]\n\
                     offset-mv = [-0.3, 0.05]\nbias-fa = [60, 40]\nleak-na = [0.4, 0.2]\n\
                     supply-v = [3.28, 0.01]\nmid-v = [1.645, 0.01]\ndrive-v = [0.391, 0.004]\n")
    .expect("a sound board");
    near(limits.resistors[0].deviation, 2e-4);
    near(limits.resistors[0].limit, 1e-4);
    near(limits.resistors[3].deviation, -5e-4);
    assert_eq!(limits.resistors[1..3], BoardLimits::ANY.resistors[1..3]);
    near(limits.electrometer_offset_v.deviation, -3e-4);
    near(limits.bias_a.deviation, 60e-15);
    let leak = limits.leakage_a.expect("it was measured");
    near(leak.deviation, 0.4e-9);
    near(leak.limit, 0.2e-9);
    near(limits.supply_v, 3.28);
    near(limits.drive_v, 0.391);
}

#[test]
fn what_cannot_be_used_is_a_sentence() {
    for (lines, part) in [
        ("", "nothing is measured"),
        ("measured = 2027-05-03\n", "nothing is measured"),
        ("r8-ohm = 1000\n", "two numbers in brackets"),
        ("r8-ohm.x = 1\n", "two numbers in brackets"),
        ("r8-ohm = [1000]\n", "two numbers"),
        ("r8-ohm = [1000, 0.1, 2]\n", "two numbers"),
        ("r8-ohm = [1000, 0]\n", "two numbers"),
        ("r8-ohm = [nan, 0.1]\n", "two numbers"),
        ("r8-ohm = [1000, inf]\n", "two numbers"),
        ("r8-ohm = [\"1k\", 0.1]\n", "expected a number"),
        ("r8-ohm = [1000, 5]\n", "tells no more than the ±1 "),
        ("r9-ohm = [1000, 1]\n", "not within 30 of 10000"),
        ("r8-ohm = [1009.9, 0.1]\n", "not within 3 of 1000"),
        ("r8-ohm = [1000, 1e-300]\n", "no instrument knows it to ±1.0e-300; ±0.025 "),
        ("r11-ohm = [2000, 0.019]\n", "±0.02 is the least"),
        ("offset-mv = [0.1, 5e-324]\n", "±0.001 is the least"),
        ("bias-fa = [45, 0.9]\n", "±1 is the least"),
        ("leak-na = [1, 0.009]\n", "±0.01 is the least"),
        ("leak-na = [-5, 1]\n", "without their signs"),
        ("mid-v = [1.65, 0.00009]\n", "±0.0001 is the least"),
        ("offset-mv = [1e308, 0.1]\n", "offset-mv = 1.0e308 is not within 2 of 0"),
        ("offset-mv = [7, 0.1]\n", "not within 2 of 0"),
        ("bias-fa = [5000, 100]\n", "not within 1000 of 0"),
        ("leak-na = [200, 5]\n", "not within 30 of 0"),
        ("supply-v = [4.9, 0.01]\n", "not within 0.165 of 3.3"),
        ("supply-v = [3.2, 0.01]\nmid-v = [1.65, 0.01]\n", "not within 0.02 of 1.6"),
        ("drive-v = [1.25, 0.01]\n", "build-and-check.md"),
        ("r12-ohm = [4700, 1]\n", "unknown field"),
        ("r8-ohm = [1000, 0.1]\nr8-ohm = [1000, 0.1]\n", "duplicate"),
    ] {
        let sentence = of(lines).expect_err(lines);
        assert!(sentence.contains(part), "{lines}{sentence}");
        assert!(!sentence.contains('\n'), "{sentence}");
    }
    let long = "x".repeat(100_000);
    for lines in [
        format!("{long} = 1\n"),
        format!("\"{}\" = 1\n", "x ".repeat(50_000)),
        format!("r8-ohm = [\"{long}\", 1]\n"),
        format!("{}offset-mv = [0, 0.1]\n", "r8-ohm = 1\n".repeat(9)),
    ] {
        let sentence = of(&lines).expect_err("not usable");
        assert!(sentence.chars().count() < 300, "{sentence}");
    }
    let sentence = |text: &str| understand(text).expect_err("not usable").1;
    assert!(sentence(&format!("board = \"{long}\"\nr8-ohm = [1000, 0.1]\n")).len() < 200);
    assert!(sentence("r8-ohm = [1000, 0.1]\n").contains("board"));
    assert!(sentence("board = \"mine\"\nr8-ohm = [1000, 0.1]\n").contains("16 hexadecimal digits"));
}

/// The sheet's own example is one.
#[test]
fn the_example_of_the_sheet_can_be_used() {
    let page = concat!(env!("CARGO_MANIFEST_DIR"), "/../hardware-notes/bring-up.md");
    let page = std::fs::read_to_string(page).expect("the sheet");
    let (_, rest) = page.split_once("```toml\n").expect("an example");
    let (example, _) = rest.split_once("```").expect("its end");
    let limits = understand(example).expect("usable").limits;
    let any = BoardLimits::ANY;
    let is_narrower = |(own, any): (&Line, &Line)| own.uncertainty() < any.uncertainty();
    assert!(limits.resistors.iter().zip(&any.resistors).all(is_narrower), "{limits:?}");
    assert!(limits.bias_a.uncertainty() < any.bias_a.uncertainty());
    // Every line of the sheet is in it.
    let sheet = page.lines().filter_map(|line| line.strip_prefix("| `")?.split('`').next());
    let keys: Vec<&str> = sheet.collect();
    assert_eq!(keys.len(), 10, "{keys:?}");
    assert!(keys.iter().all(|key| example.contains(&format!("\n{key} = ["))), "{keys:?}");
}

#[test]
fn a_file_says_where_it_is_wrong_and_whose_it_is() {
    let file = tempfile::Builder::new().suffix(".toml").tempfile().expect("a file");
    let read = |text: &str| {
        std::fs::write(file.path(), text).expect("there is room");
        Measured::read(file.path())
    };
    let failure = read(&format!("{BOARD}# a word\nr8-ohm = [1000, 5]\n")).expect_err("useless");
    assert_eq!(failure.exit, Exit::BadInput);
    assert!(failure.to_string().contains(", line 3: r8-ohm"), "{failure}");
    let measured = read(&format!("{BOARD}r8-ohm = [1000.2, 0.1]\n")).expect("a file");
    let own = "E66164084318792B".parse().expect("an id");
    assert!(measured.of(own).is_ok());
    let failure = measured.of(BoardId([7; 8])).expect_err("another board");
    assert!(failure.to_string().contains("0707070707070707"), "{failure}");
    assert_eq!(limits(None, own), Ok(BoardLimits::ANY));
    let failure = Measured::read(Path::new("/nowhere/board.toml")).expect_err("not there");
    assert_eq!(failure.exit, Exit::Storage);
}
