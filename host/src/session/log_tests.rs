//! Logs of a scripted probe.
