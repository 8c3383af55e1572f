//! Replays as people and machines see them.
