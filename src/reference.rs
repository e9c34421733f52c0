//! Fuse and wire tables, each number beside its source and mark.
