//! `forebay page`: says its address, serves it with the token alone, and needs a file.

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Stdio};

use crate::running::{command, forebay};

const SHEET: &str = "forebay: 1\ntitle: Heron Ford\nknown:\n  flow: 40 L/s\n";

/// A serving command that is ended with the test.
struct Serving(Child);

impl Drop for Serving {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn first_line(address: &str, path: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(stream, "GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n").unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer.lines().next().unwrap_or_default().to_owned()
}

#[test]
fn the_printed_address_opens_the_page_and_no_other_does() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("sheet.yaml"), SHEET).unwrap();
    let mut child = command(&["page", "sheet.yaml", "--no-open"])
        .current_dir(folder.path())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let _serving = Serving(child);
    let (address, path) = line.trim().strip_prefix("http://").unwrap().split_once('/').unwrap();
    assert!(address.starts_with("127.0.0.1:"), "{line}");
    assert!(first_line(address, &format!("/{path}")).contains(" 200 "));
    assert!(first_line(address, "/").contains(" 403 "));

    let port = address.rsplit(':').next().unwrap();
    let taken = forebay(&["page", "otter_bend.yaml", "--no-open", "--port", port]);
    assert_eq!(taken.code, 2);
    assert!(taken.err.contains(&format!("port {port} is in use")), "{}", taken.err);
}

#[test]
fn a_template_has_no_file_to_save_in() {
    let refused = forebay(&["page", "whole-site", "--no-open"]);
    assert_eq!(refused.code, 2);
    assert!(refused.err.contains("a page needs a file"), "{}", refused.err);
    assert!(refused.err.contains("forebay new NAME -o FILE"), "{}", refused.err);
}
