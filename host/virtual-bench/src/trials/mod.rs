//! Many simulated probes, to measure how often a judgement is right. The truths and chances are
//! drawn here; the judging is the same code that judges a real probe.

pub mod coverage;
pub mod settle;
