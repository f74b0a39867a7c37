//! What a job needs and what is ready for it: the plan, the pick, lives, real use and what stock cost.
//!
//! It reads a book and answers a part of a question.

pub mod batteries;
pub mod film_cut;
pub(crate) mod hours;
pub mod lead;
pub mod lives;
pub(crate) mod local_day;
pub mod pick;
pub(crate) mod piece_price;
pub mod plan;
pub mod real_use;
pub(crate) mod stock_cost;
pub mod times;
pub mod towel_use;
