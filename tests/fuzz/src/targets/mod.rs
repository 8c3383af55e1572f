//! The doors through which something comes in from outside.

mod boards;
mod commands;
mod records;
mod sessions;
mod store_images;
mod texts;
mod wire;

pub use crate::Target;
use crate::alter::Alter;

/// Every target.
#[must_use]
pub fn all() -> Vec<Target> {
    let mut all = vec![
        Target {
            name: "wire",
            check: wire::check,
            seeds: wire::seeds,
            alter: Alter::Frames,
            weight: 3200,
        },
        Target {
            name: "records",
            check: records::check,
            seeds: records::seeds,
            alter: Alter::Bytes,
            weight: 1200,
        },
        Target {
            name: "sessions",
            check: sessions::check,
            seeds: sessions::seeds,
            alter: Alter::Frames,
            weight: 40,
        },
        Target {
            name: "store-images",
            check: store_images::check,
            seeds: store_images::seeds,
            alter: Alter::Bytes,
            weight: 4,
        },
    ];
    all.push(boards::target());
    all.extend(texts::all());
    all.extend(commands::all());
    all
}

/// The target of this name.
#[must_use]
pub fn by_name(name: &str) -> Option<Target> {
    all().into_iter().find(|target| target.name == name)
}
