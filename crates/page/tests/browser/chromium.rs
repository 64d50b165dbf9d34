//! Starts Chromium through its driver, with an empty profile, and ends both with all they started.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::os::unix::process::CommandExt as _;
use std::process::{Child, ChildStdout, Command, Stdio};

use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value as Json, json};

/// A driver of its own for each test.
pub(crate) struct Chromium {
    driver: Child,
    port: u16,
    _profile: tempfile::TempDir,
    pub(crate) client: Client,
    session: String,
}

/// Whether the browser tests can run here; says loudly if not.
pub(crate) fn is_there() -> bool {
    let missing: Vec<&str> = ["chromium", "chromedriver"]
        .into_iter()
        .filter(|program| Command::new(program).arg("--version").output().is_err())
        .collect();
    if missing.is_empty() {
        return true;
    }
    let words = format!("{} not found (Debian: chromium, chromium-driver)", missing.join(" and "));
    assert!(std::env::var_os("FOREBAY_BROWSER").is_none_or(|v| v != "required"), "{words}");
    // Past the test harness, which hides what a passing test prints.
    let _ =
        writeln!(std::io::stderr(), "\nSKIPPED, the page is not tested in a browser: {words}\n");
    false
}

/// A driver with its port, unless it has ended at once.
fn driver() -> Option<(Child, BufReader<ChildStdout>, u16)> {
    let mut driver = Command::new("chromedriver")
        .arg("--port=0")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        // A group of its own, so that nothing outlives a failing test.
        .process_group(0)
        .spawn()
        .unwrap();
    let mut said = BufReader::new(driver.stdout.take().unwrap());
    let mut line = String::new();
    while !line.contains("successfully") {
        line.clear();
        if said.read_line(&mut line).unwrap() == 0 {
            driver.wait().unwrap();
            return None;
        }
    }
    let port = line.trim().trim_end_matches('.').rsplit(' ').next().unwrap().parse().unwrap();
    Some((driver, said, port))
}

impl Chromium {
    pub(crate) async fn start() -> Self {
        let profile = tempfile::tempdir().unwrap();
        // The port that it finds free may be taken a moment later.
        let (driver, mut said, port) = (0..5).find_map(|_| driver()).unwrap();
        // What it says later must not fill its pipe.
        std::thread::spawn(move || std::io::copy(&mut said, &mut std::io::sink()));
        let profile_flag = format!("--user-data-dir={}", profile.path().display());
        let capabilities = json!({
            "goog:chromeOptions": { "args": [
                "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                "--disable-background-networking", "--disable-component-update", "--disable-sync",
                "--disable-dev-shm-usage", "--window-size=1200,900", profile_flag,
            ] },
            "goog:loggingPrefs": { "performance": "ALL", "browser": "ALL" },
            // Leaving a page with unsaved values asks; a test says itself what it wants.
            "unhandledPromptBehavior": "accept",
        });
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities.as_object().unwrap().clone())
            .connect(&format!("http://127.0.0.1:{port}"))
            .await
            .unwrap();
        let session = client.session_id().await.unwrap().unwrap();
        Self { driver, port, _profile: profile, client, session }
    }

    /// A command of the browser's own protocol.
    pub(crate) fn protocol(&self, command: &str, parameters: Json) -> Json {
        self.ask("goog/cdp/execute", &json!({ "cmd": command, "params": parameters }))
    }

    /// The addresses that the browser has asked, by its own log; without those that the page's
    /// policy stopped before anything was sent, and without the browser's own pages.
    pub(crate) fn requests(&self) -> Vec<String> {
        let log = self.ask("se/log", &json!({ "type": "performance" }));
        let (mut asked, mut stopped) = (Vec::new(), Vec::new());
        for entry in log.as_array().unwrap() {
            let entry: Json = serde_json::from_str(entry["message"].as_str().unwrap()).unwrap();
            let parameters = &entry["message"]["params"];
            let number = parameters["requestId"].as_str().unwrap_or_default().to_owned();
            match entry["message"]["method"].as_str() {
                Some("Network.requestWillBeSent") => {
                    asked.push((number, parameters["request"]["url"].as_str().unwrap().to_owned()));
                }
                Some("Network.loadingFailed") if parameters["blockedReason"] == "csp" => {
                    stopped.push(number);
                }
                _ => {}
            }
        }
        asked.retain(|(number, address)| {
            !stopped.contains(number) && !address.starts_with("chrome")
        });
        asked.into_iter().map(|(_, address)| address).collect()
    }

    /// What the browser complains of: faults of scripts, breaches of the policy.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let log = self.ask("se/log", &json!({ "type": "browser" }));
        let words = |entry: &Json| entry["message"].as_str().unwrap().to_owned();
        log.as_array().unwrap().iter().map(words).collect()
    }

    /// Asks the driver what its client library has no word for.
    fn ask(&self, path: &str, body: &Json) -> Json {
        let body = body.to_string();
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        write!(
            stream,
            "POST /session/{}/{path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            self.session,
            self.port,
            body.len()
        )
        .unwrap();
        // The driver keeps the connection open, so that the length tells where the answer ends.
        let mut answer = BufReader::new(stream);
        let mut length = 0;
        loop {
            let mut line = String::new();
            answer.read_line(&mut line).unwrap();
            match line.trim().to_ascii_lowercase().split_once(':') {
                Some(("content-length", value)) => length = value.trim().parse().unwrap(),
                Some(_) => {}
                None if line.trim().is_empty() => break,
                None => {}
            }
        }
        let mut json = vec![0; length];
        answer.read_exact(&mut json).unwrap();
        serde_json::from_slice::<Json>(&json).unwrap()["value"].take()
    }
}

impl Drop for Chromium {
    fn drop(&mut self) {
        let group = format!("-{}", self.driver.id());
        let _ = Command::new("kill").args(["-KILL", "--", &group]).status();
        let _ = self.driver.wait();
    }
}
