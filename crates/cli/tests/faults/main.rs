//! What can happen to a file while it is written: the file is whole, either the old one or the new
//! one, and what is only part of a result says so.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]
#![allow(clippy::print_stdout, reason = "what was tried is counted there")]

mod disks;
mod editors;
mod stopped;
mod writer;
