//! Draws a sheet's diagnostics on the standard error, each with its place in the user's text.

use std::fmt;
use std::fmt::Write as _;

use forebay_report::visible;
use forebay_sheet::{Diagnostic, Severity, Sources};
use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan};

use crate::console::{Drawing, tell};
use crate::excerpt::{Excerpt, Place};

/// A broken sheet can have thousands; nobody reads more than these.
const MOST: usize = 40;

/// Draws diagnostics in their order.
pub(crate) fn draw(diagnostics: &[&Diagnostic], sources: &Sources, drawing: Drawing) {
    tell(&drawn(diagnostics, sources, drawing));
}

fn drawn(diagnostics: &[&Diagnostic], sources: &Sources, drawing: Drawing) -> String {
    let theme = match (drawing.unicode, drawing.colour) {
        (true, true) => GraphicalTheme::unicode(),
        (true, false) => GraphicalTheme::unicode_nocolor(),
        (false, true) => GraphicalTheme::ascii(),
        (false, false) => GraphicalTheme::none(),
    };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(drawing.width)
        .with_links(false)
        .with_context_lines(1);
    let mut out = String::new();
    for diagnostic in diagnostics.iter().take(MOST) {
        let ready = Ready::new(diagnostic, sources, drawing.width);
        // Writing to a text does not fail; should the drawing fail, the sentence is what matters.
        let before = out.len();
        if handler.render_report(&mut out, &ready).is_err() {
            out.truncate(before);
            let _ = writeln!(out, "{}: {}", ready.diagnostic.code.name, ready.message);
        }
        out.push('\n');
    }
    if let Some(more) = diagnostics.len().checked_sub(MOST).filter(|more| *more > 0) {
        let _ = writeln!(out, "… and {more} more of the same kind of trouble; mend these first.");
    }
    out
}

/// A diagnostic with its excerpt, as the drawing library takes it.
#[derive(Debug)]
struct Ready<'a> {
    diagnostic: &'a Diagnostic,
    message: String,
    help: String,
    excerpt: Option<Excerpt>,
    labels: Vec<LabeledSpan>,
}

impl<'a> Ready<'a> {
    fn new(diagnostic: &'a Diagnostic, sources: &Sources, width: usize) -> Self {
        let mut help = visible(diagnostic.way_out()).into_owned();
        let mut ready = Self {
            diagnostic,
            message: visible(&diagnostic.message).into_owned(),
            help: String::new(),
            excerpt: None,
            labels: Vec::new(),
        };
        let first = diagnostic.span();
        if let Some((span, source)) = first.and_then(|s| Some((s, sources.source(s)?))) {
            let (here, elsewhere): (Vec<_>, Vec<_>) =
                diagnostic.labels.iter().partition(|label| label.span.source == span.source);
            let places: Vec<Place> = here
                .iter()
                .map(|label| Place {
                    range: label.span.start as usize
                        ..(label.span.end.max(label.span.start)) as usize,
                    words: label.text.chars().count(),
                })
                .filter(|place| source.text.get(place.range.clone()).is_some())
                .collect();
            let (excerpt, ranges) =
                Excerpt::of(&visible(&source.name), &source.text, &places, width);
            if !ranges.is_empty() {
                ready.labels = here
                    .iter()
                    .zip(ranges)
                    .map(|(label, range)| {
                        let words = visible(&label.text).into_owned();
                        LabeledSpan::new_with_span((!words.is_empty()).then_some(words), range)
                    })
                    .collect();
                ready.excerpt = Some(excerpt);
            }
            // A place in another text cannot be drawn into this one.
            for label in elsewhere {
                let (line, column) = sources.line_and_column(label.span);
                let name =
                    sources.source(label.span).map(|s| s.name.to_string()).unwrap_or_default();
                let words = if label.text.is_empty() { "see also" } else { &label.text };
                let _ = write!(help, "\n{} at {}:{line}:{column}", visible(words), visible(&name));
            }
        }
        ready.help = help;
        ready
    }
}

impl fmt::Display for Ready<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Ready<'_> {}

impl miette::Diagnostic for Ready<'_> {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.diagnostic.code.name))
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.diagnostic.code.severity {
            Severity::Note => miette::Severity::Advice,
            Severity::Warning => miette::Severity::Warning,
            Severity::Error => miette::Severity::Error,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        (!self.help.is_empty()).then(|| Box::new(&self.help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        self.excerpt.as_ref().map(|excerpt| excerpt as &dyn miette::SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}
