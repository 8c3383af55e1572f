//! A session: the file of frames that a log leaves, and how it is read back.
