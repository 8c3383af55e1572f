//! Builds the image for a Raspberry Pi Pico: the ELF, the UF2 beside it, and its sizes against their
//! budgets. `cargo image` runs it.

mod elf;
mod sizes;
mod uf2;

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use std::{env, fs};

use rillmark_pico::partition;
use sizes::Sizes;

const TARGET: &str = "thumbv6m-none-eabi";
const PACKAGE: &str = "rillmark-pico";
const PROFILE: &str = "image";
const ERASE_STORE: &str = "rillmark-erase-store.uf2";

fn main() -> ExitCode {
    match run() {
        Ok(text) => {
            println!("{text}");
            ExitCode::SUCCESS
        }
        Err(sentence) => {
            eprintln!("image: {sentence}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<String, String> {
    let elf_path = built()?;
    let name = elf_path.display();
    let elf = fs::read(&elf_path).map_err(|error| format!("cannot read {name}: {error}"))?;
    let segments = elf::segments(&elf).ok_or_else(|| format!("{name} is no ELF of this board"))?;
    let sizes = Sizes::of(&segments);
    let table = sizes.table();
    sizes.check().map_err(|over| format!("{over}\n{table}"))?;

    let program = elf::program(&segments, partition::FLASH_ADDRESS)
        .ok_or_else(|| format!("{name} writes outside of the flash"))?;
    let uf2_path = elf_path.with_extension("uf2");
    let uf2 = uf2::of(&program, partition::FLASH_ADDRESS);
    let uf2_name = uf2_path.display();
    fs::write(&uf2_path, uf2).map_err(|error| format!("cannot write {uf2_name}: {error}"))?;
    // For a store that is damaged: it erases the store and leaves all else.
    let erase_path = elf_path.with_file_name(ERASE_STORE);
    let erase = uf2::erased(&partition::STORE);
    let erase_name = erase_path.display();
    fs::write(&erase_path, erase).map_err(|error| format!("cannot write {erase_name}: {error}"))?;
    Ok(format!("{table}ELF        {name}\nUF2        {uf2_name}\nerases     {erase_name}"))
}

/// Builds the program; where its ELF is.
fn built() -> Result<PathBuf, String> {
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let target_folder = env::var_os("CARGO_TARGET_DIR").map_or(root.join("target"), PathBuf::from);
    let status = Command::new(cargo)
        .args(["build", "--locked", "--package", PACKAGE, "--profile", PROFILE, "--target", TARGET])
        .arg("--target-dir")
        .arg(&target_folder)
        .current_dir(&root)
        .status()
        .map_err(|error| format!("cannot run cargo: {error}"))?;
    if !status.success() {
        return Err(format!(
            "the program was not built ({status}). `rustup target add {TARGET}` if the target is missing."
        ));
    }
    let folder = target_folder.canonicalize().unwrap_or(target_folder);
    Ok(folder.join(TARGET).join(PROFILE).join(PACKAGE))
}
