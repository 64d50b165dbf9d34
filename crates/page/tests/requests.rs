//! Who is let in and how much they may ask for, over plain sockets.

#![allow(clippy::unwrap_used, reason = "a panic here is a failing test")]

#[allow(dead_code, reason = "the browser tests use more of it")]
#[path = "browser/files.rs"]
mod files;

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use files::Served;

const SHEET: &str = "forebay: 1\ntitle: Secret brook\nknown:\n  flow: 40 L/s\n";

struct Place {
    served: Served,
    port: u16,
    token: String,
}

fn place() -> Place {
    let served = Served::new(SHEET);
    let (start, token) = served.address.split_once("/?token=").unwrap();
    let port = start.rsplit(':').next().unwrap().parse().unwrap();
    let token = token.to_owned();
    Place { served, port, token }
}

impl Place {
    /// Sends a request as it stands, with HOST and TOKEN filled in, and gives the whole answer.
    fn answer(&self, request: &str) -> String {
        let host = format!("127.0.0.1:{}", self.port);
        let request = request.replace("HOST", &host).replace("TOKEN", &self.token);
        let request = request.replace('\n', "\r\n");
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = String::new();
        let _ = stream.read_to_string(&mut answer);
        answer
    }

    #[track_caller]
    fn check(&self, request: &str, status: &str) {
        let answer = self.answer(request);
        let first = answer.lines().next().unwrap_or_default();
        assert!(first.contains(status), "{request}\n{answer}");
        if status != "200" {
            assert!(!answer.contains("Secret brook") && !answer.contains(&self.token), "{answer}");
        }
    }
}

#[test]
fn the_page_is_served_with_strict_headers() {
    let place = place();
    let answer = place.answer("GET /?token=TOKEN HTTP/1.1\nHost: HOST\nConnection: close\n\n");
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    assert!(head.starts_with("HTTP/1.1 200"), "{head}");
    for header in [
        "content-security-policy: default-src 'none'; script-src 'nonce-",
        "frame-ancestors 'none'",
        "x-content-type-options: nosniff",
        "cache-control: no-store",
        "referrer-policy: no-referrer",
        "x-frame-options: DENY",
    ] {
        assert!(head.contains(header), "{header}\n{head}");
    }
    assert!(!head.contains("unsafe-inline") && !head.contains("access-control-allow-origin"));
    // The document alone tells nothing of the sheet.
    assert!(!body.contains("Secret brook"));
    let again = place.answer("GET /?token=TOKEN HTTP/1.1\nHost: HOST\nConnection: close\n\n");
    assert_ne!(body, again.split_once("\r\n\r\n").unwrap().1, "a nonce is used once");
}

#[test]
fn strangers_are_turned_away() {
    let place = place();
    let open = "\nContent-Type: application/json\nContent-Length: 2\nConnection: close\n\n{}";
    place.check(&format!("POST /open HTTP/1.1\nHost: HOST\nx-forebay-token: TOKEN{open}"), "200");
    // Without the token, with a wrong one, with the token where it does not belong.
    place.check("GET / HTTP/1.1\nHost: HOST\nConnection: close\n\n", "403");
    place.check(&format!("POST /open HTTP/1.1\nHost: HOST{open}"), "403");
    place.check(&format!("POST /open?token=TOKEN HTTP/1.1\nHost: HOST{open}"), "403");
    let wrong = "0".repeat(32);
    place.check(&format!("POST /open HTTP/1.1\nHost: HOST\nx-forebay-token: {wrong}{open}"), "403");
    // A foreign name that leads here, and a foreign page that asks.
    place.check("GET /?token=TOKEN HTTP/1.1\nHost: rebound.example\nConnection: close\n\n", "403");
    place.check(&format!("POST /open HTTP/1.1\nHost: HOST\nOrigin: http://foreign.example\nx-forebay-token: TOKEN{open}"), "403");
    place.check(
        &format!("POST /open HTTP/1.1\nHost: HOST\nOrigin: null\nx-forebay-token: TOKEN{open}"),
        "403",
    );
    place.check("OPTIONS /open HTTP/1.1\nHost: HOST\nOrigin: http://foreign.example\nAccess-Control-Request-Method: POST\nConnection: close\n\n", "403");
    // No other file, by any way of writing it.
    for path in ["/brook.yaml", "/../brook.yaml", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd"] {
        place.check(
            &format!(
                "GET {path} HTTP/1.1\nHost: HOST\nx-forebay-token: TOKEN\nConnection: close\n\n"
            ),
            "404",
        );
    }
    // A form of a foreign page cannot send JSON.
    place.check("POST /open HTTP/1.1\nHost: HOST\nx-forebay-token: TOKEN\nContent-Type: text/plain\nContent-Length: 2\nConnection: close\n\n{}", "415");
    assert_eq!(place.served.text(), SHEET);
}

#[test]
fn what_a_client_may_ask_for_is_bounded() {
    let place = place();
    let head = "POST /open HTTP/1.1\nHost: HOST\nx-forebay-token: TOKEN\nContent-Type: application/json\nConnection: close\n";
    let large = format!("{{\"case\":\"{}\"}}", "x".repeat(300 * 1024));
    place.check(&format!("{head}Content-Length: {}\n\n{large}", large.len()), "413");
    let deep = format!("{}{}", "[".repeat(5000), "]".repeat(5000));
    place.check(&format!("{head}Content-Length: {}\n\n{deep}", deep.len()), "400");
    place.check(&format!("{head}Content-Length: 3\n\n{{\"x"), "400");
    let long = "y".repeat(64 * 1024);
    let answer = place.answer(&format!("GET /?token={long} HTTP/1.1\nHost: HOST\n\n"));
    assert!(answer.is_empty() || answer.contains(" 431") || answer.contains(" 414"), "{answer}");
    // Many half-open clients do not keep the page from its user.
    let idle: Vec<TcpStream> =
        (0..40).map(|_| TcpStream::connect(("127.0.0.1", place.port)).unwrap()).collect();
    let start = Instant::now();
    place.check("GET /?token=TOKEN HTTP/1.1\nHost: HOST\nConnection: close\n\n", "200");
    assert!(start.elapsed() < Duration::from_secs(5), "it has waited until they were let go");
    drop(idle);
}

#[test]
fn a_client_that_does_not_finish_its_request_is_let_go() {
    let place = place();
    let mut slow = TcpStream::connect(("127.0.0.1", place.port)).unwrap();
    slow.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
    slow.write_all(b"GET /?token=").unwrap();
    let start = Instant::now();
    let mut answer = Vec::new();
    // The connection ends, with or without words.
    slow.read_to_end(&mut answer).unwrap();
    assert!(start.elapsed() < Duration::from_secs(25));
}

#[test]
fn only_the_loopback_address_is_listened_on() {
    let place = place();
    // Another address of this machine, if it has one: nobody answers there.
    let Ok(out) = std::net::UdpSocket::bind("0.0.0.0:0") else { return };
    // Nothing is sent: connecting a datagram socket only chooses the address it would send from.
    if out.connect("192.0.2.1:9").is_err() {
        return;
    }
    let own = out.local_addr().unwrap().ip();
    if own.is_loopback() {
        return;
    }
    let tried = TcpStream::connect_timeout(&(own, place.port).into(), Duration::from_secs(2));
    assert!(tried.is_err(), "{own} answers");
}
