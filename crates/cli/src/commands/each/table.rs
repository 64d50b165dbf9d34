//! The table that comes in, read row by row, and the file of rows that are kept apart.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, Read, Write as _};

use forebay_study::TableRow;

use csv::{ByteRecord, Reader, ReaderBuilder};

use crate::refusal::Refusal;

/// A table of comma-separated values under way.
pub(super) struct Table {
    name: String,
    reader: Reader<Box<dyn Read>>,
    size: Option<u64>,
    record: ByteRecord,
    /// The fields of the row at hand, in letters.
    texts: Vec<String>,
    garbled: bool,
}

/// A new file for rows that are kept apart.
pub(super) struct KeptApart {
    name: String,
    file: BufWriter<File>,
}

/// How many rows a table has below its head.
pub(super) fn rows_in(name: &str) -> Result<u64, Refusal> {
    if name == "-" {
        return Err(Refusal::new("a part of the standard input cannot be told before it is read")
            .help("save the table as a file"));
    }
    let mut table = Table::open(name)?;
    table.heads()?;
    let mut rows = 0;
    while table.read()? {
        rows += 1;
    }
    Ok(rows)
}

impl Table {
    pub(super) fn open(name: &str) -> Result<Self, Refusal> {
        let (input, size): (Box<dyn Read>, Option<u64>) = if name == "-" {
            (Box::new(io::stdin()), None)
        } else {
            let refused = |why: String| Refusal::new(format!("`{name}` cannot be read: {why}"));
            let about = fs::metadata(name).map_err(|error| refused(error.to_string()))?;
            if about.is_dir() {
                return Err(refused("it is a folder".to_owned()));
            }
            let file = File::open(name).map_err(|error| refused(error.to_string()))?;
            (Box::new(file), Some(about.len()).filter(|_| about.is_file()))
        };
        let reader = ReaderBuilder::new().has_headers(false).flexible(true).from_reader(input);
        Ok(Self {
            name: name.to_owned(),
            reader,
            size,
            record: ByteRecord::new(),
            texts: Vec::new(),
            garbled: false,
        })
    }

    /// The fields of the first line.
    pub(super) fn heads(&mut self) -> Result<Vec<String>, Refusal> {
        if !self.next()? {
            return Err(Refusal::new(format!("`{}` is empty", self.name))
                .help("its first line names the columns"));
        }
        let mut heads = self.texts.clone();
        if let Some(first) = heads.first_mut() {
            *first = first.trim_start_matches('\u{feff}').to_owned();
        }
        if let [only] = heads.as_slice()
            && only.contains(';')
        {
            return Err(Refusal::new(format!("`{}` has `;` between its columns", self.name))
                .help("write commas between the columns, and points in numbers"));
        }
        Ok(heads)
    }

    /// Reads the next row; `false` at the end.
    fn next(&mut self) -> Result<bool, Refusal> {
        if !self.read()? {
            return Ok(false);
        }
        self.garbled = false;
        self.texts.resize_with(self.record.len(), String::new);
        for (text, field) in self.texts.iter_mut().zip(&self.record) {
            text.clear();
            let letters = String::from_utf8_lossy(field);
            self.garbled |= matches!(letters, std::borrow::Cow::Owned(_));
            text.push_str(&letters);
        }
        Ok(true)
    }

    fn read(&mut self) -> Result<bool, Refusal> {
        let read = self.reader.read_byte_record(&mut self.record);
        read.map_err(|error| Refusal::new(format!("`{}` cannot be read: {error}", self.name)))
    }

    /// Passes over rows.
    pub(super) fn skip(&mut self, rows: u64) -> Result<(), Refusal> {
        for _ in 0..rows {
            self.read()?;
        }
        Ok(())
    }

    /// The next rows, fewer at the end.
    pub(super) fn rows(&mut self, most: usize) -> Result<Vec<TableRow>, Refusal> {
        let mut rows = Vec::new();
        while rows.len() < most && self.next()? {
            let trouble = self.garbled.then(|| "the row is not written in UTF-8".to_owned());
            rows.push(TableRow { fields: self.texts.clone(), trouble });
        }
        Ok(rows)
    }

    /// How many bytes are read.
    pub(super) fn bytes(&self) -> u64 {
        self.reader.position().byte()
    }

    /// How many there are, of a file.
    pub(super) fn size(&self) -> Option<u64> {
        self.size
    }
}

impl KeptApart {
    /// Makes the file, which must not be there yet: it could be somebody's rows.
    pub(super) fn create(name: &str) -> Result<Self, Refusal> {
        let made = OpenOptions::new().write(true).create_new(true).open(name);
        let file = made.map_err(|error| {
            Refusal::new(format!("`{name}` cannot be made: {error}"))
                .help("rows are kept apart in a new file; remove this one or name another")
        })?;
        Ok(Self { name: name.to_owned(), file: BufWriter::new(file) })
    }

    pub(super) fn write(&mut self, text: &str) -> Result<(), Refusal> {
        let written = self.file.write_all(text.as_bytes());
        written.map_err(|error| Refusal::new(format!("`{}` cannot be written: {error}", self.name)))
    }

    pub(super) fn finish(mut self) -> Result<(), Refusal> {
        let written = self.file.flush();
        written.map_err(|error| Refusal::new(format!("`{}` cannot be written: {error}", self.name)))
    }
}
