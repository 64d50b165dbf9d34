//! Worksheets used inside another one: read, bounded, and taken in under a name.

use std::collections::HashMap;

use super::lower::described;
use super::names::{Definition, Names, TableColumns};
use super::{Compiler, SetFromOutside};
use crate::bounds::{DEEPEST_USE, MOST_SHEETS};
use crate::diagnostic::{Code, Diagnostic};
use crate::read;
use crate::value::{Type, Value};
use crate::worksheet::{Text, Use, Worksheet};

impl Compiler<'_> {
    /// Reads a worksheet that this one uses and takes in its cells.
    pub(super) fn component(
        &mut self,
        used: &Use,
        prefix: &str,
        scope: u32,
        names: &Names,
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
        self.nothing_unknown_is_set(&worksheet, &used.set);
        let shown = worksheet.show.iter().map(|name| format!("{prefix}{}", name.text));
        self.out.part_headlines.extend(shown);
        let set = SetFromOutside { set: &used.set, scope, names };
        let cells = self.sheet(&worksheet, &prefix, Some(set), path);
        path.pop();
        Some(cells)
    }

    fn nothing_unknown_is_set(&mut self, worksheet: &Worksheet, set: &[(Text, Text)]) {
        let knowns = || worksheet.known.iter().map(|known| known.name.text.as_str());
        let tables = || worksheet.tables.iter().map(|table| table.name.text.as_str());
        for (name, _) in set {
            if knowns().chain(tables()).any(|own| own == name.text) {
                continue;
            }
            let mut help = format!("its knowns are {}", knowns().collect::<Vec<_>>().join(", "));
            if !worksheet.tables.is_empty() {
                help.push_str("; its tables are ");
                help.push_str(&tables().collect::<Vec<_>>().join(", "));
            }
            self.report(
                Diagnostic::new(
                    Code::UNKNOWN_NAME,
                    format!("that worksheet has no known or table `{}`", name.text),
                    name.span,
                )
                .help(help),
            );
        }
    }

    /// Puts tables of the sheet outside in the place of tables of its component.
    pub(super) fn tables_from_outside(
        &mut self,
        worksheet: &Worksheet,
        from: SetFromOutside<'_>,
        names: &mut Names,
    ) {
        for (name, given) in from.set {
            if !worksheet.tables.iter().any(|table| table.name.text == name.text) {
                continue;
            }
            let wanted = names.tables.iter().position(|table| table.name == name.text);
            let outer = from.names.tables.iter().find(|table| table.name == given.text.trim());
            let (Some(at), Some(outer)) = (wanted, outer) else {
                // A table that is broken on either side has been reported.
                let broken = wanted.is_none()
                    || matches!(
                        from.names.defined.get(given.text.trim()),
                        Some(Definition::Broken)
                    );
                if !broken {
                    self.report(
                        Diagnostic::new(
                            Code::UNKNOWN_NAME,
                            format!("this sheet has no table `{}`", given.text.trim()),
                            given.span,
                        )
                        .help(format!(
                            "`{}` is a table: set it to the name of a table of this sheet",
                            name.text
                        )),
                    );
                }
                names.defined.insert(name.text.clone(), Definition::Broken);
                continue;
            };
            match filling(&names.tables[at], outer) {
                Ok(columns) => names.tables[at].columns = columns,
                Err(why) => {
                    self.report(Diagnostic::new(Code::UNKNOWN_NAME, why, given.span));
                    names.defined.insert(name.text.clone(), Definition::Broken);
                }
            }
        }
    }
}

/// The columns of the outer table that a component's table has; what the outer one has beyond
/// them is left out, so that a formula over a whole table sees what it was written for.
fn filling(
    inner: &TableColumns,
    outer: &TableColumns,
) -> Result<Vec<(String, Type, Value)>, String> {
    let mut columns = Vec::with_capacity(inner.columns.len());
    for (name, ty, _) in &inner.columns {
        match outer.columns.iter().find(|(own, ..)| own == name) {
            Some(found) if found.1 == *ty => columns.push(found.clone()),
            Some((_, found, _)) => {
                return Err(format!(
                    "column `{name}` of `{}` is a {}, `{}` wants a {}",
                    outer.name,
                    described(*found),
                    inner.name,
                    described(*ty)
                ));
            }
            None => {
                return Err(format!(
                    "table `{}` has no column `{name}`, which `{}` wants",
                    outer.name, inner.name
                ));
            }
        }
    }
    Ok(columns)
}
