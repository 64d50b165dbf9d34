//! How most commands write what they found.

use clap::ValueEnum;

/// For people or for programs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum TextOrJson {
    Text,
    Json,
}
