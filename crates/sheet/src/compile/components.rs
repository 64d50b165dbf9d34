//! Worksheets used inside another one: read, bounded, and taken in under a name.

use std::collections::HashMap;

use super::Compiler;
use crate::diagnostic::{Code, Diagnostic};
use crate::read;
use crate::worksheet::Use;

/// How deep worksheets may use one another.
const DEEPEST_USE: usize = 8;
/// How many worksheets one may bring in, all levels together.
const MOST_SHEETS: usize = 64;

impl Compiler<'_> {
    /// Reads a worksheet that this one uses and takes in its cells.
    pub(super) fn component(
        &mut self,
        used: &Use,
        prefix: &str,
        scope: u32,
        path: &mut Vec<String>,
    ) -> Option<HashMap<String, u32>> {
        let name = &used.sheet.text;
        if path.len() >= DEEPEST_USE || self.sheets >= MOST_SHEETS {
            self.report(Diagnostic::new(
                Code::LIMIT,
                format!(
                    "worksheets use one another more than {DEEPEST_USE} deep, or more than {MOST_SHEETS} in all"
                ),
                used.sheet.span,
            ));
            return None;
        }
        if path.contains(name) {
            let ring = path.iter().chain([name]).cloned().collect::<Vec<_>>().join(" → ");
            self.report(
                Diagnostic::new(
                    Code::CYCLE,
                    format!("worksheets use one another in a ring: {ring}"),
                    used.sheet.span,
                )
                .help("take one of the uses out"),
            );
            return None;
        }
        let text = match self.loader.load(name) {
            Ok(text) => text,
            Err(why) => {
                self.report(Diagnostic::new(Code::NOT_FOUND, why, used.sheet.span));
                return None;
            }
        };
        let source = self.sources.add(name, &text);
        let (worksheet, diagnostics) = read::read(self.sources, source, self.loader);
        self.out.diagnostics.extend(diagnostics);
        let own = self.out.scopes[scope as usize].currency;
        if let Some(other) = worksheet.currency.filter(|other| own != Some(*other)) {
            let message = match own {
                Some(own) => {
                    format!("this sheet counts in {}, `{name}` in {}", own.code(), other.code())
                }
                None => {
                    format!("`{name}` counts in {}, this sheet names no currency", other.code())
                }
            };
            let diagnostic = Diagnostic::new(Code::CURRENCY, message, used.sheet.span);
            self.report(match own {
                Some(_) => diagnostic,
                None => diagnostic.help(format!("add `currency: {}` at the top", other.code())),
            });
            return None;
        }
        path.push(name.clone());
        let prefix = format!("{prefix}{}.", used.name.text);
        let cells = self.sheet(&worksheet, &prefix, Some((&used.set, scope)), path);
        path.pop();
        Some(cells)
    }
}
