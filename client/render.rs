//! What people read: pages of text made from answers, and the one place that prints them.
//!
//! The screens are plain functions from an answer to text, so that tests can read them; `Printer`
//! alone writes. Nothing here asks the service anything, and colour never carries a meaning that the
//! words do not.

pub(crate) mod amount;
pub(crate) mod book;
pub(crate) mod budget;
pub(crate) mod calendar;
pub(crate) mod car;
pub(crate) mod check;
pub(crate) mod clocks;
pub(crate) mod code;
pub(crate) mod cost;
pub(crate) mod csv;
pub(crate) mod curve;
pub(crate) mod doctor;
pub(crate) mod entry;
pub(crate) mod film;
pub(crate) mod folder;
pub(crate) mod gauge;
pub(crate) mod given;
pub(crate) mod grid;
pub(crate) mod job;
pub(crate) mod keep;
pub(crate) mod kit;
pub(crate) mod life;
pub(crate) mod lives;
pub(crate) mod make;
pub(crate) mod notebook;
pub(crate) mod order;
mod pager;
pub(crate) mod picks;
pub(crate) mod plan;
pub(crate) mod printer;
pub(crate) mod quote;
pub(crate) mod register;
pub(crate) mod reorder;
mod rests_on;
pub(crate) mod routine;
pub(crate) mod screen;
pub(crate) mod shares;
pub(crate) mod sheet;
pub(crate) mod shop;
pub(crate) mod shops;
pub(crate) mod spark;
pub(crate) mod start;
pub(crate) mod supplier;
pub(crate) mod svg;
pub(crate) mod table;
pub(crate) mod tags;
pub(crate) mod take;
pub(crate) mod tint;
pub(crate) mod today;
pub(crate) mod understood;
pub(crate) mod wear;

pub(crate) use printer::{Form, Printer};
pub(crate) use screen::Screen;

#[cfg(test)]
pub(crate) mod scenario;
#[cfg(test)]
mod tests;
