//! Replays of sessions.
