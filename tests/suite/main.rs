//! Stories over the real binaries: solo, served, through public clients, and the shape of the code.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::print_stderr,
    reason = "a test fails by panicking and says what it skips"
)]

mod access;
mod as_said;
mod audited;
mod backups;
mod bench_page;
mod binaries;
#[cfg(unix)]
mod books_moving;
#[cfg(unix)]
mod books_of_two;
mod calendar;
mod callers;
mod chromium;
mod circles;
mod clients;
#[cfg(target_os = "linux")]
mod clocks_apart;
mod demo;
#[cfg(unix)]
mod devices_of_many;
mod disk;
mod doctor;
#[cfg(unix)]
mod door;
mod ending;
#[cfg(unix)]
mod engine_figures;
mod examples;
mod film;
#[cfg(unix)]
mod in_engine;
mod keep;
mod later;
#[cfg(unix)]
mod many_books;
mod mended;
#[cfg(unix)]
mod mended_in_engine;
mod metrics;
#[cfg(unix)]
mod modes;
#[cfg(unix)]
mod moved;
#[cfg(unix)]
mod moved_beside;
mod node;
#[cfg(unix)]
mod office;
mod opened;
#[cfg(unix)]
mod own_page;
mod own_place;
mod packages;
mod paired;
mod paper;
mod policy;
mod ports;
mod program;
mod promtool;
mod public_clients;
mod python;
mod reached;
mod readme;
mod reasons;
#[cfg(unix)]
mod restored;
mod schemas;
mod shop_clients;
#[cfg(unix)]
mod shops;
mod states;
mod story;
mod tables;
mod terminal;
mod tidy;
mod tools;
mod tries;
#[cfg(unix)]
mod two_nodes;
mod unasked;
mod unit_file;
mod wear;
mod wings;
