//! What is tied: the names of each tie become cells, and all ties together must be possible.

use forebay_units::nearest;

use super::names::{Definition, Names};
use super::{Compiler, Role};
use crate::correlations::{Correlations, MOST_TIED};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::worksheet::{Text, Tie, Worksheet};

/// A tie whose names are cells.
pub(super) struct Resolved {
    name: String,
    /// Each with the place of its name.
    cells: Vec<(u32, Span)>,
    correlation: f64,
    span: Span,
}

impl Compiler<'_> {
    /// Takes in what a worksheet ties; its names and those of its components are known.
    pub(super) fn ties(&mut self, worksheet: &Worksheet, prefix: &str, names: &Names) {
        for tie in &worksheet.tied {
            match self.tie(worksheet, tie, names) {
                Some(cells) if !tie.broken => self.ties.push(Resolved {
                    name: format!("{prefix}{}", tie.name.text),
                    cells,
                    correlation: tie.correlation,
                    span: tie.span,
                }),
                _ => self.broken_ties = true,
            }
        }
    }

    /// The cells of a tie; `None` where a name is wrong.
    fn tie(&mut self, worksheet: &Worksheet, tie: &Tie, names: &Names) -> Option<Vec<(u32, Span)>> {
        let mut cells: Vec<(u32, Span)> = Vec::with_capacity(tie.knowns.len());
        let mut sound = true;
        for known in &tie.knowns {
            let cell = match self.tied_cell(worksheet, known, names) {
                Ok(cell) => cell,
                Err(diagnostic) => {
                    sound = false;
                    if let Some(diagnostic) = diagnostic {
                        self.report(*diagnostic);
                    }
                    continue;
                }
            };
            if let Some((_, before)) = cells.iter().find(|(other, _)| *other == cell) {
                sound = false;
                let message = format!("`{}` stands in this tie twice", known.text);
                let diagnostic = Diagnostic::new(Code::NAME_TWICE, message, known.span)
                    .and(*before, "here already");
                self.report(diagnostic);
            } else {
                cells.push((cell, known.span));
            }
        }
        sound.then_some(cells)
    }

    /// The cell of a name in a tie; nothing to report where its entry has been reported.
    fn tied_cell(
        &self,
        worksheet: &Worksheet,
        known: &Text,
        names: &Names,
    ) -> Result<u32, Option<Box<Diagnostic>>> {
        let refused = |message: String, help: &str| {
            let diagnostic = Diagnostic::new(Code::UNKNOWN_NAME, message, known.span);
            Err(Some(Box::new(if help.is_empty() { diagnostic } else { diagnostic.help(help) })))
        };
        let found = match known.text.split_once('.') {
            Some((component, inner)) => match names.defined.get(component) {
                Some(Definition::Component(cells)) => cells.get(inner).copied(),
                Some(Definition::Broken) => return Err(None),
                _ => None,
            },
            None => match names.defined.get(&known.text) {
                Some(Definition::Cell(cell)) => Some(*cell),
                Some(Definition::Broken) => return Err(None),
                _ => None,
            },
        };
        let Some(cell) = found else {
            let knowns = worksheet.known.iter().map(|known| known.name.text.as_str());
            let help = nearest(&known.text, knowns)
                .first()
                .map_or_else(String::new, |near| format!("did you mean `{near}`?"));
            return refused(format!("there is no known `{}` to be tied", known.text), &help);
        };
        match self.out.cells.get(cell as usize).map(|cell| cell.role) {
            Some(Role::Work(_) | Role::Check(_)) => refused(
                format!("`{}` is worked out; only knowns can be tied", known.text),
                "tie the knowns that it reads: what is worked out from them follows",
            ),
            _ => Ok(cell),
        }
    }

    /// Puts all ties together, after the uncertainties of all knowns have been read.
    pub(super) fn correlate(&mut self) {
        let ties = std::mem::take(&mut self.ties);
        let mut knowns: Vec<u32> = Vec::new();
        for tie in &ties {
            for (cell, span) in &tie.cells {
                let Some(code) = self.out.cells.get(*cell as usize) else { continue };
                if !code.says_plus_minus {
                    let message = format!(
                        "`{}` is tied, but the sheet does not say how uncertain it is",
                        code.name
                    );
                    let diagnostic = Diagnostic::new(Code::IDLE_TIE, message, *span)
                        .help("add `plus_minus` to it, or take it out of the tie");
                    self.report(diagnostic);
                }
                knowns.push(*cell);
            }
        }
        knowns.sort_unstable();
        knowns.dedup();
        if let (true, Some(first)) = (knowns.len() > MOST_TIED, ties.first()) {
            let message = format!("{} knowns are tied; {MOST_TIED} may be", knowns.len());
            let diagnostic = Diagnostic::new(Code::LIMIT, message, first.span)
                .help("make the common cause a known of its own, and subtract it from the others");
            self.report(diagnostic);
            return;
        }
        let places: Vec<(String, Vec<usize>, f64)> = ties
            .iter()
            .map(|tie| {
                let cells = tie.cells.iter();
                let cells = cells.filter_map(|(cell, _)| knowns.binary_search(cell).ok());
                (tie.name.clone(), cells.collect(), tie.correlation)
            })
            .collect();
        if let Some((one, other)) = Correlations::contradiction(&places) {
            let message = "two ties give the same knowns different coefficients";
            let diagnostic = Diagnostic::new(Code::IMPOSSIBLE_TIES, message, ties[other].span)
                .and(ties[one].span, "given here")
                .help("leave the coefficient to one of them");
            self.report(diagnostic);
            return;
        }
        let name = |cell: &u32| self.out.cells[*cell as usize].name.clone();
        match Correlations::new(knowns.iter().map(name).collect(), places) {
            Ok(correlations) if !self.broken_ties => self.out.correlations = Some(correlations),
            Ok(_) => {}
            Err(at) => {
                let diagnostic = self.impossible(&ties, knowns[at]);
                self.report(diagnostic);
            }
        }
    }

    /// No quantities can hang together like this; the first known at which that shows is named.
    fn impossible(&self, ties: &[Resolved], known: u32) -> Diagnostic {
        let name = &self.out.cells[known as usize].name;
        let message = format!("no quantities can be correlated like this: see `{name}`");
        let mut of_it = ties.iter().filter(|tie| tie.cells.iter().any(|(cell, _)| *cell == known));
        let first = of_it.next().map_or(Span { source: 0, start: 0, end: 0 }, |tie| tie.span);
        let mut diagnostic = Diagnostic::new(Code::IMPOSSIBLE_TIES, message, first);
        for tie in of_it {
            diagnostic = diagnostic.and(tie.span, "and this");
        }
        diagnostic
    }
}
