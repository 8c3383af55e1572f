//! Many simulated probes, to measure how often a judgement or a stated uncertainty is right. The
//! truths and chances are drawn here; what judges is the same code that judges a real probe.

pub mod bottles;
pub mod coverage;
pub mod drift;
pub mod motion;
pub mod reality;
pub mod settle;
