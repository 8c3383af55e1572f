//! Records as people and machines see them.
