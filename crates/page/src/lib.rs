//! The live page: a worksheet in the browser, served to this machine alone.
//!
//! [`Page::bind`] listens on the loopback address, [`Page::address`] is what the user opens, and
//! [`Page::serve`] answers until the program ends. The page shows one file; what it reads and how
//! a sheet is opened comes from the caller through [`Files`], and the only file that is ever
//! written is that one.
//!
//! A request is let through only with the page's own name in `Host`, with no foreign `Origin`, and
//! with the token that is part of the address.

mod answers;
mod desk;
mod file;
mod guard;
mod server;
mod session;
mod shell;
mod token;
mod view;
mod watch;

pub use desk::Files;
pub use file::{NotWritten, replace, replace_unchanged};
pub use server::Page;
