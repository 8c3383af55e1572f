//! Holds the arrows of the architecture: which package and which module may know which.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use rillmark_tests::source_tree::{modules_reached, root, rust_files};

/// The packages of the workspace and what each depends on, but for tests, as a graph in `DEVELOPERS.md`.
/// Arrows that follow from others are left out.
///
/// `RILLMARK_REGOLD=1 cargo test -p rillmark-tests --test arrows` writes it anew: a new arrow is to be looked at.
#[test]
fn the_graph_of_the_packages_is_the_one_in_developers_md() {
    let page = root().join("DEVELOPERS.md");
    let text = fs::read_to_string(&page).expect("readable");
    let (start, end) = ("```mermaid\n", "```\n");
    let from = text.find(start).expect("a graph") + start.len();
    let until = from + text[from..].find(end).expect("its end");
    let graph = graph(&packages());
    if std::env::var_os("RILLMARK_REGOLD").is_some() {
        let text = format!("{}{graph}{}", &text[..from], &text[until..]);
        fs::write(&page, text).expect("writable");
    } else {
        assert_eq!(text[from..until], graph);
    }
}

type Packages = BTreeMap<String, BTreeSet<String>>;

fn packages() -> Packages {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--no-deps", "--format-version", "1", "--offline"])
        .current_dir(root())
        .output()
        .expect("cargo runs, as it runs this test");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: serde_json::Value =
        serde_json::from_slice(&output.stdout).expect("cargo metadata prints JSON");
    let packages = metadata["packages"].as_array().expect("a list of packages");
    let name = |value: &serde_json::Value| value["name"].as_str().expect("a name").to_owned();
    let names: BTreeSet<_> = packages.iter().map(name).collect();
    let ships = |on: &&serde_json::Value| on["kind"] != "dev";
    let below = |package: &serde_json::Value| {
        let all = package["dependencies"].as_array().expect("a list");
        all.iter().filter(ships).map(name).filter(|on| names.contains(on)).collect()
    };
    packages.iter().map(|package| (name(package), below(package))).collect()
}

fn graph(packages: &Packages) -> String {
    fn reaches(packages: &Packages, from: &str, to: &str) -> bool {
        packages[from].iter().any(|next| next == to || reaches(packages, next, to))
    }
    let short = |name: &str| match name.strip_prefix("rillmark-") {
        Some(rest) => rest.to_owned(),
        None => "rillmark[rillmark: the command]".to_owned(),
    };
    let mut graph = "graph BT\n".to_owned();
    for (name, below) in packages {
        let direct =
            below.iter().filter(|on| !below.iter().any(|other| reaches(packages, other, on)));
        let direct: Vec<_> = direct.map(|on| short(on)).collect();
        if !direct.is_empty() {
            graph += &format!("    {} --> {}\n", short(name), direct.join(" & "));
        }
    }
    graph
}

/// `libm`'s `arch` feature takes the processor's own instructions for some functions; without it host
/// and board compute the same bits.
#[test]
fn what_ships_computes_without_the_processors_own_functions() {
    let shipped = [
        "rillmark-proto",
        "rillmark-metrology",
        "rillmark-procedures",
        "rillmark-firmware",
        "rillmark-bench",
        "rillmark",
    ];
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
    ("reference", &["units"]),
    ("calibration", &["units", "circuit", "reference"]),
    ("reading", &["units", "identity", "calibration"]),
    ("record", &["units", "identity", "calibration", "reading"]),
    ("wire", &["units", "identity", "reading", "record"]),
];

/// Module of the metrology, and the modules below it.
const METROLOGY: &[(&str, &[&str])] = &[
    ("least_squares", &[]),
    ("decision", &[]),
    ("drift", &[]),
    ("reference", &[]),
    ("front_end", &[]),
    ("signal", &["least_squares"]),
    ("motion", &["least_squares"]),
    ("glass", &["reference"]),
    ("uncertainty", &["drift", "reference", "front_end"]),
    ("verification", &["decision", "uncertainty"]),
    ("fit", &["least_squares", "reference", "front_end", "uncertainty"]),
    ("span", &["fit"]),
    (
        "assess",
        &[
            "drift",
            "reference",
            "front_end",
            "uncertainty",
            "verification",
            "glass",
            "motion",
            "span",
        ],
    ),
];

/// Module of the procedures, and the modules below it.
const PROCEDURES: &[(&str, &[&str])] =
    &[("board_check", &[]), ("routine", &[]), ("diagnose", &["routine"])];

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

/// A module's tests may use what stands above it: the doubt of a fit is tested where doubt is.
fn is_test(file: &Path) -> bool {
    let names = file.iter().map(|name| name.to_string_lossy());
    names.into_iter().any(|name| name == "tests" || name.trim_end_matches(".rs").ends_with("tests"))
}

fn check_modules(source_folder: &Path, allowed: &[(&str, &[&str])]) {
    for file in rust_files(source_folder) {
        let relative = file.strip_prefix(source_folder).expect("found below it");
        let first = relative.iter().next().expect("a file name").to_string_lossy();
        // A module's tests may stand in a file beside it.
        let module = first.trim_end_matches(".rs").trim_end_matches("_tests");
        if module == "lib" || module == "main" || is_test(relative) {
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
fn modules_of_the_metrology_know_only_those_below() {
    check_modules(&root().join("shared-proto/metrology/src"), METROLOGY);
}

#[test]
fn modules_of_the_procedures_know_only_those_below() {
    check_modules(&root().join("host/procedures/src"), PROCEDURES);
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
    for folder in [
        "shared-proto/src",
        "shared-proto/metrology/src",
        "firmware/src",
        "host/procedures/src",
        "host/virtual-bench/src",
        "hardware-notes/net-list/src",
    ] {
        let folder = root().join(folder);
        let is_code = |file: &PathBuf| !is_test(file.strip_prefix(&folder).expect("below it"));
        for file in rust_files(&folder).into_iter().filter(is_code) {
            let text = fs::read_to_string(&file).expect("a source file is readable");
            assert!(!text.contains("println!"), "{} prints", file.display());
        }
    }
}
