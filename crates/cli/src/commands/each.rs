//! `forebay each`: a sheet over the rows of a table, streaming.

mod table;

use std::process::ExitCode;

use clap::{Args, ValueEnum};
use forebay_report::{each_csv, each_csv_head, each_json, visible};
use forebay_study::{Each, EachRow, name_of_head, part_of};

use super::study::{refused, see};
use crate::console::{Console, tell};
use crate::long_work::LongWork;
use crate::opening::{Settings, open};
use crate::refusal::Refusal;
use table::{KeptApart, Table, rows_in};

/// Compute a sheet for each row of a table (CSV), one row out per row in
///
/// The first line of the table names knowns of the sheet, optionally with the unit of the numbers
/// below, `flow [L/s]`; a field may also bring its own unit. Other columns are carried through.
///
/// A row is in trouble if a value is missing or cannot be read, if a cell to show has no value, or if
/// a check of level `stop` fails. Its trouble stands in the column `trouble`, or the row goes to the
/// file named with --rejected. What is only doubtful, as a formula used outside its range, stands in
/// the column `doubt`. Both are counted at the end on the standard error.
#[derive(Args)]
#[command(
    after_help = "Exit codes: 0 every row went through; 1 rows are in trouble, or Ctrl-C ended the \
                  work; 2 the sheet, the table's head or the call is wrong."
)]
pub(crate) struct Arguments {
    /// A worksheet, a template's name, or `-` for the standard input
    file: String,
    /// The table, a CSV file, or `-` for the standard input
    #[arg(long, value_name = "CSV")]
    rows: String,
    /// The cells to add to each row; the sheet's headline results if left out
    #[arg(long, value_name = "CELLS", value_delimiter = ',')]
    see: Vec<String>,
    /// Only a share of the rows, 3/8 for the third eighth; the outputs of all parts put together in
    /// order are the whole (only the first one has the head)
    #[arg(long, value_name = "K/N", value_parser = part)]
    part: Option<(u64, u64)>,
    /// Put rows in trouble into this new file instead
    #[arg(long, value_name = "FILE")]
    rejected: Option<String>,
    #[command(flatten)]
    settings: Settings,
    /// How to write it; `json` is one object a line
    #[arg(long = "as", value_name = "FORMAT", default_value = "csv")]
    format: Form,
}

/// How rows are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    Csv,
    Json,
}

pub(crate) fn run(arguments: &Arguments, console: &mut Console) -> Result<ExitCode, Refusal> {
    if arguments.file == "-" && arguments.rows == "-" {
        return Err(Refusal::new("the standard input cannot be both the sheet and the table"));
    }
    let (mut sheet, ..) = open(Some(&arguments.file), &arguments.settings, console)?;
    let (part, parts) = arguments.part.unwrap_or((1, 1));
    let range =
        if parts == 1 { 0..u64::MAX } else { part_of(rows_in(&arguments.rows)?, part, parts) };
    let mut table = Table::open(&arguments.rows)?;
    let heads = table.heads()?;
    // Knowns that the table gives have a column already.
    let known = |name: &&str| sheet.cell(name).is_some_and(|cell| cell.is_settable());
    let given: Vec<&str> = heads.iter().map(|head| name_of_head(head)).filter(known).collect();
    let cells = see(&sheet, &arguments.see, &given, console)?;
    // The sheet is lent to the rows; a refusal is drawn with its sources, so that is tried first.
    let fault = Each::new(&mut sheet, &heads, &cells).err();
    if let Some(fault) = fault {
        return Err(refused(fault, &sheet, console));
    }
    let Ok(mut each) = Each::new(&mut sheet, &heads, &cells) else { return Err(Refusal::told()) };
    let mut apart = arguments.rejected.as_deref().map(KeptApart::create).transpose()?;
    tell_carried(&each);
    let with_head = arguments.format == Form::Csv && part == 1;
    let mut out = if with_head { each_csv_head(&each) } else { String::new() };
    if let (Some(apart), true) = (&mut apart, with_head) {
        apart.write(&out)?;
    }
    let mut work = LongWork::begin();
    let (mut number, mut whole, mut count) = (0_u64, true, Count::default());
    table.skip(range.start)?;
    number += range.start;
    loop {
        let most = usize::try_from(range.end - number).unwrap_or(usize::MAX);
        let some = table.rows(each.rows_at_once().min(most))?;
        if some.is_empty() {
            break;
        }
        for (fields, row) in some.iter().map(|row| &row.fields).zip(each.rows(&some)) {
            number += 1;
            let fields: Vec<&str> = fields.iter().map(String::as_str).collect();
            let text = match arguments.format {
                Form::Csv => each_csv(&each, &fields, &row),
                Form::Json => each_json(&each, number, &fields, &row),
            };
            count.take(&row);
            match (&mut apart, &row.trouble) {
                (Some(apart), Some(_)) => apart.write(&text)?,
                _ => out.push_str(&text),
            }
        }
        console.print(&out)?;
        out.clear();
        if console.is_closed() || !work.go_on_reading(number, table.bytes(), table.size()) {
            whole = console.is_closed();
            break;
        }
    }
    drop(work);
    console.print(&out)?;
    if let Some(apart) = apart {
        apart.finish()?;
    }
    count.tell(arguments, whole);
    Ok(ExitCode::from(u8::from(count.troubled > 0 || !whole)))
}

fn tell_carried(each: &Each<'_>) {
    let carried: Vec<&str> = each.carried().collect();
    if !carried.is_empty() {
        let names = carried.join(", ");
        tell(&format!(
            "carried through, because the sheet has no such known: {}\n",
            visible(&names)
        ));
    }
}

/// How many rows went how.
#[derive(Default)]
struct Count {
    fine: u64,
    troubled: u64,
    doubtful: u64,
}

impl Count {
    fn take(&mut self, row: &EachRow) {
        if row.trouble.is_some() {
            self.troubled += 1;
        } else {
            self.fine += 1;
        }
        let doubt = row.row.as_ref().is_some_and(|row| row.doubt.is_some());
        self.doubtful += u64::from(doubt);
    }

    fn tell(&self, arguments: &Arguments, whole: bool) {
        let (fine, troubled) = (self.fine, self.troubled);
        let all = fine + troubled;
        let place = match &arguments.rejected {
            Some(file) => format!(" (in {file})"),
            None if troubled > 0 => " (see `trouble`)".to_owned(),
            None => String::new(),
        };
        let place = visible(&place);
        let partial = if whole { "" } else { "partial: stopped by Ctrl-C after " };
        let rows = if all == 1 { "row" } else { "rows" };
        let doubt = match self.doubtful {
            0 => String::new(),
            doubtful => format!("; {doubtful} doubtful (see `doubt`)"),
        };
        tell(&format!("{partial}{all} {rows}: {fine} fine, {troubled} in trouble{place}{doubt}\n"));
    }
}

/// `3/8`.
fn part(text: &str) -> Result<(u64, u64), String> {
    let read = || {
        let (part, parts) = text.split_once('/')?;
        Some((part.trim().parse::<u64>().ok()?, parts.trim().parse::<u64>().ok()?))
    };
    match read() {
        Some((part, parts)) if (1..=parts).contains(&part) => Ok((part, parts)),
        _ => Err("which part of how many, such as 3/8".to_owned()),
    }
}
