//! Tables of a sheet: every column becomes a series, dated where the table has a column of dates.

use std::sync::Arc;

use forebay_units::{Dimension, Quantity, Unit, money};
use jiff::civil::Date;

use super::names::{Definition, Names, TableColumns};
use super::{Compiler, parse};
use crate::diagnostic::{Code, Diagnostic, Span};
use crate::value::{Items, Scalar, Series, Type, Value};
use crate::worksheet::{Column, Table, Text, Worksheet};

impl Compiler<'_> {
    /// Takes in the tables of a sheet; one with a broken column is left out.
    pub(super) fn tables(&mut self, worksheet: &Worksheet, names: &mut Names) {
        for table in &worksheet.tables {
            let columns = self.table(table, names).filter(|_| !table.broken);
            let definition = match columns {
                Some(columns) => {
                    names.tables.push(TableColumns { name: table.name.text.clone(), columns });
                    Definition::Table
                }
                None => Definition::Broken,
            };
            names.defined.insert(table.name.text.clone(), definition);
        }
    }

    fn table(&mut self, table: &Table, names: &Names) -> Option<Vec<(String, Type, Value)>> {
        let mut columns = Vec::with_capacity(table.columns.len());
        let mut broken = false;
        for (at, column) in table.columns.iter().enumerate() {
            let cells = table.rows.iter().map(|row| row.get(at).and_then(Option::as_ref));
            match self.column(column, cells, names) {
                Some((scalar, items)) => columns.push((column.name.text.clone(), scalar, items)),
                None => broken = true,
            }
        }
        if broken {
            return None;
        }
        self.look_over_dates(table);
        let dates = columns.iter().find_map(|(_, scalar, items)| match (scalar, items) {
            (Scalar::Date, Items::Values(values)) => values
                .iter()
                .map(|v| if let Some(Value::Date(date)) = v { Some(*date) } else { None })
                .collect::<Option<Arc<[Date]>>>(),
            _ => None,
        });
        let series = |(name, scalar, items)| {
            let series = Series { items, dates: dates.clone() };
            (name, Type::Series(scalar), Value::Series(Arc::new(series)))
        };
        Some(columns.into_iter().map(series).collect())
    }

    /// Tells where the dates of a record, a column of dates with numbers beside it, do not rise; its
    /// values stand as written. A list of papers with the days they are due is no record.
    fn look_over_dates(&mut self, table: &Table) {
        let word = |column: &Column| column.unit.text.trim().to_owned();
        let dated = |column: &Column| word(column) == "date";
        let Some(at) = table.columns.iter().position(dated) else { return };
        let mut others = table.columns.iter().enumerate().filter(|(other, _)| *other != at);
        if others.any(|(_, column)| matches!(word(column).as_str(), "date" | "text" | "truth")) {
            return;
        }
        let dates: Vec<(Date, &Text)> = table
            .rows
            .iter()
            .filter_map(|row| row.get(at)?.as_ref())
            .filter_map(|text| Some((text.text.trim().parse().ok()?, text)))
            .collect();
        let fallen = |pair: &&[(Date, &Text)]| pair[1].0 <= pair[0].0;
        let all = dates.windows(2).filter(fallen).count();
        if let Some([(before, earlier), (date, later)]) = dates.windows(2).find(fallen) {
            let name = &table.name.text;
            let message = if before == date {
                format!("{date} stands in the table `{name}` twice")
            } else {
                format!("{date} comes after {before} in the table `{name}`")
            };
            let diagnostic = Diagnostic::new(Code::WRONG_WAY_ROUND, message, later.span)
                .and(earlier.span, "the row before");
            self.report(match all {
                1 => diagnostic,
                _ => diagnostic.help(format!("there are {all} such places: sort its rows by date")),
            });
        }
    }

    fn column<'t>(
        &mut self,
        column: &Column,
        cells: impl Iterator<Item = Option<&'t Text>>,
        names: &Names,
    ) -> Option<(Scalar, Items)> {
        let word = column.unit.text.trim();
        let scalar = match word {
            "text" => Scalar::Text,
            "date" => Scalar::Date,
            "truth" => Scalar::Truth,
            _ => return self.numbers(column, cells, names),
        };
        let mut values = Vec::new();
        let mut broken = false;
        for cell in cells {
            let Some(text) = cell else {
                values.push(None);
                continue;
            };
            let words = text.text.trim();
            let value = match scalar {
                Scalar::Date => words.parse().ok().map(Value::Date),
                // As knowns have it; truths are shown as yes and no.
                Scalar::Truth => match words {
                    "yes" | "true" => Some(Value::Truth(true)),
                    "no" | "false" => Some(Value::Truth(false)),
                    _ => None,
                },
                _ => Some(Value::Text(words.into())),
            };
            if value.is_none() {
                broken = true;
                let wanted =
                    if scalar == Scalar::Date { "a date such as 2025-03-01" } else { "yes or no" };
                let diagnostic =
                    self.bad_cell(column, text.span, words, wanted).help(format!("write {wanted}"));
                self.report(diagnostic);
            }
            values.push(value);
        }
        (!broken).then_some((scalar, Items::Values(values)))
    }

    fn bad_cell(&self, column: &Column, span: Span, words: &str, wanted: &str) -> Diagnostic {
        Diagnostic::new(
            Code::TABLE_CELL,
            format!("column `{}` holds {wanted}, found `{words}`", column.name.text),
            span,
        )
        .and(column.unit.span, "its unit")
    }

    fn numbers<'t>(
        &mut self,
        column: &Column,
        cells: impl Iterator<Item = Option<&'t Text>>,
        names: &Names,
    ) -> Option<(Scalar, Items)> {
        let unit = match Unit::parse(column.unit.text.trim()) {
            Ok(unit) => unit,
            Err(error) => {
                self.report(parse::unit_diagnostic(&error, column.unit.span));
                return None;
            }
        };
        if let Some(found) = unit.currency()
            && names.currency != Some(found)
        {
            self.report(Diagnostic::new(
                Code::CURRENCY,
                format!("the column is in {}, which is not the sheet's currency", found.code()),
                column.unit.span,
            ));
            return None;
        }
        let exact = unit.dimension() == Dimension::MONEY;
        let mut numbers = Vec::new();
        let mut amounts = Vec::new();
        let mut broken = false;
        for cell in cells {
            let Some(text) = cell else {
                numbers.push(f64::NAN);
                amounts.push(None);
                continue;
            };
            let words = text.text.trim();
            if exact {
                let bare = words.strip_suffix(unit.symbol()).unwrap_or(words).trim();
                match money::parse_amount(bare) {
                    Ok(amount) => amounts.push(Some(Value::Money(amount))),
                    Err(error) => {
                        broken = true;
                        let diagnostic = self
                            .bad_cell(column, text.span, words, "amounts of money")
                            .help(error.help());
                        self.report(diagnostic);
                    }
                }
                continue;
            }
            match self.number_in(&unit, column, text) {
                Some(number) => numbers.push(number),
                None => broken = true,
            }
        }
        if broken {
            return None;
        }
        let items = if exact { Items::Values(amounts) } else { Items::Numbers(numbers) };
        Some((Scalar::Number(unit.dimension()), items))
    }

    /// A number in the column's unit, or with a unit of its own.
    fn number_in(&mut self, unit: &Unit, column: &Column, text: &Text) -> Option<f64> {
        let words = text.text.trim();
        let plain = words.replace('_', "");
        if let Ok(number) = plain.parse::<f64>() {
            let si = unit.to_si(number);
            // `nan` and `inf` read as numbers too.
            if si.is_finite()
                && words.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c))
            {
                return Some(si);
            }
        }
        let wanted = format!("numbers in {}", unit.symbol());
        match Quantity::parse(words) {
            Ok(quantity) if quantity.dimension() == unit.dimension() => Some(quantity.si()),
            Ok(quantity) => {
                let found = format!("{words}, of {}", quantity.dimension());
                self.report(self.bad_cell(column, text.span, &found, &wanted));
                None
            }
            Err(error) => {
                let diagnostic =
                    self.bad_cell(column, text.span, words, &wanted).help(error.help());
                self.report(diagnostic);
                None
            }
        }
    }
}
