//! What a case comes to, as values without wording: why a part is in its state.
//!
//! **Model.** A reason is a list of numbered steps; each rests on earlier ones, the first on readings
//! or on what the vehicle file says.
//!
//! **Invariants.** A step names only steps before it. The arithmetic of every step holds, and the
//! readings cited suffice for the state (test room `reasons`).

mod reasons;

pub use reasons::{About, Reasons, Says, Step, is_reading, reasons};
