//! What to do next: the planner sees a table, never the tree.

pub mod table;
