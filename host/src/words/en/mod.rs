//! English.

pub mod assess;
pub mod budget;
pub mod check_board;
pub mod cli;
pub mod demo;
pub mod diagnose;
pub mod fit;
pub mod judgement;
pub mod manners;
pub mod measured;
pub mod probe;
pub mod recognise;
pub mod record;
pub mod reference;
pub mod routine;
pub mod sachet;
pub mod session;
pub mod standard;
pub mod start;
pub mod stir_check;
pub mod typed;
pub mod verification;
pub mod versions;
pub mod virtual_bench;
