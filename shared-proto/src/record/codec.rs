//! Canonical bytes of a record and the identity taken from them.
