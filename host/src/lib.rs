//! The host side of Rillmark as a library; the binary is a thin shell around [`cli::run`].
#![warn(missing_docs)]

pub mod cli;
pub mod command;
pub mod exit;
pub mod foreign;
pub mod link;
pub mod session;
pub mod words;
