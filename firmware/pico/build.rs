//! Writes the linker script of the board from the partition.

use std::{env, fs, path::PathBuf};

#[allow(dead_code, unreachable_pub)] // a library's module, of which the script needs some
#[path = "src/partition.rs"]
mod partition;

use partition::*;

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-changed=src/partition.rs");
    if env::var("CARGO_CFG_TARGET_OS").as_deref() != Ok("none") {
        return;
    }
    // The regions are what there is; the budgets, which are smaller, are held by `cargo image`.
    let program_end = PROGRAM.end;
    let script = format!(
        "MEMORY {{
  BOOT2 : ORIGIN = {FLASH_ADDRESS:#x}, LENGTH = {BOOT2_BYTES:#x}
  FLASH : ORIGIN = {FLASH_ADDRESS:#x} + {BOOT2_BYTES:#x}, LENGTH = {program_end:#x} - {BOOT2_BYTES:#x}
  RAM : ORIGIN = {RAM_ADDRESS:#x}, LENGTH = {VARIABLES_BYTES:#x}
  STACK : ORIGIN = {STACK_END:#x}, LENGTH = {STACK_BYTES:#x}
}}
_stack_end = ORIGIN(STACK);
_stack_start = ORIGIN(STACK) + LENGTH(STACK);
"
    );
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets it"));
    fs::write(out.join("memory.x"), script).expect("the build folder can be written to");
    println!("cargo:rustc-link-search={}", out.display());
    for argument in ["--nmagic", "-Tlink.x", "-Tlink-rp.x", "-Tdefmt.x"] {
        println!("cargo:rustc-link-arg-bins={argument}");
    }
}
