//! Holds the arrows of the architecture: which package and which module may know which.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Command;

use rillmark_tests::source_tree::{modules_reached, root, rust_files};

/// Package, and the workspace packages it may depend on (dev-dependencies of `rillmark-tests` and
/// of tests elsewhere are not part of what ships).
const PACKAGES: &[(&str, &[&str])] = &[
    ("rillmark-proto", &[]),
    ("rillmark-metrology", &["rillmark-proto"]),
    ("rillmark-firmware", &["rillmark-proto"]),
    ("rillmark-pico", &["rillmark-proto", "rillmark-firmware"]),
    ("rillmark-image", &["rillmark-pico"]),
    ("rillmark-bench", &["rillmark-proto", "rillmark-metrology", "rillmark-firmware"]),
    ("rillmark-circuit", &["rillmark-proto", "rillmark-firmware"]),
    ("rillmark-kicad", &["rillmark-proto"]),
    ("rillmark", &["rillmark-proto", "rillmark-metrology", "rillmark-bench"]),
    ("rillmark-tests", &[]),
    (
        "rillmark-attack",
        &["rillmark-proto", "rillmark-bench", "rillmark", "rillmark-fuzz", "rillmark-tests"],
    ),
    (
        "rillmark-fuzz",
        &[
            "rillmark-proto",
            "rillmark-metrology",
            "rillmark-firmware",
            "rillmark",
            "rillmark-kicad",
        ],
    ),
    ("rillmark-emulator-models", &["rillmark-proto", "rillmark-bench", "rillmark-evaluate-image"]),
    ("rillmark-evaluate-image", &["rillmark-proto"]),
];

#[test]
fn packages_depend_one_way() {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--no-deps", "--format-version", "1", "--offline"])
        .current_dir(root())
        .output()
        .expect("cargo runs, as it runs this test");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: serde_json::Value =
        serde_json::from_slice(&output.stdout).expect("cargo metadata prints JSON");
    let packages = metadata["packages"].as_array().expect("a list of packages");
    let names: BTreeSet<_> = packages.iter().filter_map(|p| p["name"].as_str()).collect();
    assert_eq!(names, PACKAGES.iter().map(|(name, _)| *name).collect());

    for package in packages {
        let name = package["name"].as_str().expect("a name");
        let allowed = PACKAGES.iter().find(|(n, _)| *n == name).expect("compared above").1;
        for dependency in package["dependencies"].as_array().expect("a list") {
            let on = dependency["name"].as_str().expect("a name");
            if dependency["kind"] == "dev" || !names.contains(on) {
                continue;
            }
            assert!(allowed.contains(&on), "{name} must not depend on {on}");
        }
    }
}

/// `libm`'s `arch` feature takes the processor's own instructions for some functions; without it host
/// and board compute the same bits.
#[test]
fn what_ships_computes_without_the_processors_own_functions() {
    let shipped =
        ["rillmark-proto", "rillmark-metrology", "rillmark-firmware", "rillmark-bench", "rillmark"];
    let output = Command::new(env!("CARGO"))
        .args(["tree", "--edges", "features,no-dev", "--invert", "libm", "--offline"])
        .args(shipped.iter().flat_map(|name| ["--package", name]))
        .current_dir(root())
        .output()
        .expect("cargo runs, as it runs this test");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let tree = String::from_utf8(output.stdout).expect("UTF-8");
    assert!(tree.starts_with("libm v") && tree.contains("rillmark-proto v"), "{tree}");
    assert!(!tree.contains("feature \"arch\""), "{tree}");
}

/// The same on the board; and the chip's boot ROM, which has its own arithmetic, stays out of it.
#[test]
fn the_image_computes_with_the_hosts_code() {
    let tree = |invert: &str| {
        let output = Command::new(env!("CARGO"))
            .args(["tree", "--edges", "features,no-dev", "--package", "rillmark-pico", "--offline"])
            .args(["--target", "thumbv6m-none-eabi", "--invert", invert])
            .current_dir(root())
            .output()
            .expect("cargo runs, as it runs this test");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    let libm = tree("libm");
    assert!(libm.starts_with("libm v") && libm.contains("rillmark-proto v"), "{libm}");
    assert!(!libm.contains("feature \"arch\""), "{libm}");
    let chip = tree("embassy-rp");
    assert!(chip.contains("embassy-rp feature \"rp2040\""), "{chip}");
    assert!(!chip.contains("intrinsics\""), "{chip}");
}

/// Module of shared-proto, and the modules below it.
const PROTO: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("identity", &[]),
    ("circuit", &[]),
    ("least_squares", &[]),
    ("decision", &[]),
    ("reference", &["units"]),
    ("calibration", &["units", "circuit", "reference", "least_squares"]),
    ("signal", &["units", "reference", "least_squares"]),
    ("reading", &["units", "identity", "circuit", "reference", "calibration"]),
    ("record", &["units", "identity", "decision", "reference", "calibration", "reading"]),
    (
        "routine",
        &[
            "units",
            "identity",
            "decision",
            "reference",
            "calibration",
            "signal",
            "reading",
            "record",
        ],
    ),
    ("board_check", &["units", "circuit", "decision", "calibration", "reading"]),
    (
        "diagnose",
        &["units", "reference", "least_squares", "calibration", "signal", "record", "routine"],
    ),
    ("wire", &["units", "identity", "reference", "calibration", "reading", "record"]),
];

/// Module of the host, and the modules it may know; `exit` is the common end of every error.
const HOST: &[(&str, &[&str])] = &[
    ("exit", &[]),
    ("foreign", &[]),
    ("words", &["exit", "foreign"]),
    ("link", &["exit", "words"]),
    ("session", &["exit", "words", "link"]),
    ("command", &["exit", "foreign", "words", "link", "session"]),
    ("cli", &["exit", "command"]),
];

fn check_modules(source_folder: &Path, allowed: &[(&str, &[&str])]) {
    for file in rust_files(source_folder) {
        let relative = file.strip_prefix(source_folder).expect("found below it");
        let first = relative.iter().next().expect("a file name").to_string_lossy();
        // A module's tests may stand in a file beside it.
        let module = first.trim_end_matches(".rs").trim_end_matches("_tests");
        if module == "lib" || module == "main" {
            continue;
        }
        let (_, below) = allowed
            .iter()
            .find(|(name, _)| *name == module)
            .unwrap_or_else(|| panic!("module {module} has no place in the arrows: give it one"));
        let source = fs::read_to_string(&file).expect("a source file is readable");
        for reached in modules_reached(&source) {
            assert!(
                reached == module || below.contains(&reached.as_str()),
                "{} must not know `{reached}`",
                file.display()
            );
        }
    }
}

#[test]
fn modules_of_the_shared_crate_know_only_those_below() {
    check_modules(&root().join("shared-proto/src"), PROTO);
}

#[test]
fn modules_of_the_host_know_only_those_below() {
    check_modules(&root().join("host/src"), HOST);
}

#[test]
fn nothing_below_the_commands_prints_exits_or_reads_arguments() {
    const FORBIDDEN: &[&str] =
        &["println!", "print!(", "process::exit", "env::args", "io::stdout", "io::stdin"];
    let source = root().join("host/src");
    for file in rust_files(&source) {
        let relative = file.strip_prefix(&source).expect("found below it");
        let first = relative.iter().next().expect("a file name").to_string_lossy().into_owned();
        if matches!(first.as_str(), "main.rs" | "cli.rs" | "command") {
            continue;
        }
        let text = fs::read_to_string(&file).expect("a source file is readable");
        for forbidden in FORBIDDEN {
            assert!(!text.contains(forbidden), "{} uses {forbidden}", file.display());
        }
    }
}

/// So that no text from a probe, a file or a person comes to a terminal as it is.
#[test]
fn commands_write_through_the_one_place_that_makes_text_safe() {
    // The lines that write; files and the bench's own line are no terminal.
    const ALLOWED: &[&str] = &["output.rs", "new_file.rs", "endpoint.rs", "pseudo_terminal.rs"];
    const FORBIDDEN: &[&str] = &["write_all(", "write!(", "writeln!(", "print!(", "println!("];
    let source = root().join("host/src");
    let main = [source.join("main.rs"), source.join("cli.rs")];
    for file in rust_files(&source.join("command")).into_iter().chain(main) {
        let name = file.file_name().expect("a file").to_string_lossy().into_owned();
        if ALLOWED.contains(&name.as_str()) || name.ends_with("tests.rs") {
            continue;
        }
        let text = fs::read_to_string(&file).expect("a source file is readable");
        for forbidden in FORBIDDEN {
            assert!(!text.contains(forbidden), "{} uses {forbidden}", file.display());
        }
    }
}

#[test]
fn libraries_do_not_print() {
    for folder in ["shared-proto/src", "firmware/src", "host/virtual-bench/src"] {
        for file in rust_files(&root().join(folder)) {
            let text = fs::read_to_string(&file).expect("a source file is readable");
            assert!(!text.contains("println!"), "{} prints", file.display());
        }
    }
}
