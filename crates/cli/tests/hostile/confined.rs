//! A process in a folder of its own beside secrets, with bounds on its time, memory and files that
//! the system enforces, and watched where the system has a tool for it.

use std::fs::{self, File};
use std::os::unix::fs::symlink;
use std::os::unix::process::ExitStatusExt as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::sheets::Hostile;

/// Stands in every file that no sheet may read.
pub(crate) const SECRET: &str = "471147114711";
/// Seconds of processor time; an unoptimised build needs ten times those of an optimised one.
const SECONDS: u32 = 60;
/// How long a run may take by the clock, on a machine that has others to serve.
pub(crate) const WALL: Duration = Duration::from_secs(300);
/// Address space in KiB: the stack of one script and the largest sheet fit, and not much more.
const KILOBYTES: u32 = 2 * 1024 * 1024;
/// What may be written, in blocks of 512 bytes: the outputs, which are files, and the trace.
const BLOCKS: u32 = 8192;
/// Calls that no sheet has a need for.
const WATCHED: &str = "trace=open,openat,connect,socket,execve,unlink,rename,mkdir";

/// How a run ended.
#[derive(Debug, Default)]
pub(crate) struct Ended {
    pub(crate) code: Option<i32>,
    pub(crate) signal: Option<i32>,
    pub(crate) timed_out: bool,
    pub(crate) out: String,
    pub(crate) err: String,
    /// Files and sockets it reached for without need, if that could be watched.
    pub(crate) reached: Vec<String>,
}

/// A process that is about to be run.
pub(crate) struct Confined {
    outer: tempfile::TempDir,
    program: Vec<String>,
    seconds: u32,
    /// Files of the sheet's own folder.
    own: Vec<String>,
}

impl Confined {
    /// The command on a hostile sheet.
    pub(crate) fn new(one: &Hostile) -> Self {
        let mut confined = Self::shell("");
        let folder = confined.outer.path().join("sheets");
        for (name, bytes) in &one.files {
            fs::write(folder.join(name), bytes).unwrap();
        }
        confined.own = one.files.iter().map(|(name, _)| name.clone()).collect();
        confined.program = vec![env!("CARGO_BIN_EXE_forebay").to_owned()];
        confined.program.extend(one.arguments.iter().map(|&word| word.to_owned()));
        confined
    }

    /// A few words for the shell, to try the fence.
    pub(crate) fn shell(script: &str) -> Self {
        let outer = tempfile::tempdir().unwrap();
        let folder = outer.path().join("sheets");
        fs::create_dir_all(folder.join("below")).unwrap();
        let secret = format!("level\n{SECRET}\n");
        let yaml = format!("forebay: 1\nknown:\n  level: {SECRET} m\n");
        for (name, text) in
            [("secret.csv", &secret), ("secret.yaml", &yaml), ("sheets/below/deep.yaml", &yaml)]
        {
            fs::write(outer.path().join(name), text).unwrap();
        }
        symlink("../secret.yaml", folder.join("link.yaml")).unwrap();
        symlink("../secret.csv", folder.join("link.csv")).unwrap();
        symlink("/dev/zero", folder.join("zero.yaml")).unwrap();
        let pipe = Command::new("mkfifo").arg(folder.join("pipe.yaml")).status().unwrap();
        assert!(pipe.success());
        let program = ["sh", "-c", script].map(str::to_owned).to_vec();
        Self { outer, program, seconds: SECONDS, own: Vec::new() }
    }

    /// With another bound on processor time.
    pub(crate) fn seconds(mut self, seconds: u32) -> Self {
        self.seconds = seconds;
        self
    }

    /// Runs it.
    pub(crate) fn run(self) -> Ended {
        let folder = self.outer.path().join("sheets");
        let at = |name: &str| self.outer.path().join(name);
        let trace = at("trace");
        let mut fence = Command::new("sh");
        fence.arg("-c").arg(format!(
            "ulimit -c 0; ulimit -t {}; ulimit -v {KILOBYTES}; ulimit -f {BLOCKS}; exec \"$@\"",
            self.seconds
        ));
        fence.arg("fence");
        if can_trace() {
            fence.args(["strace", "-f", "--seccomp-bpf", "-qq", "-e", WATCHED, "-o"]).arg(&trace);
        }
        let mut child = fence
            .args(&self.program)
            .current_dir(&folder)
            .env("LC_ALL", "C.UTF-8")
            .env("RUST_BACKTRACE", "0")
            .env_remove("COLUMNS")
            .env_remove("LD_LIBRARY_PATH")
            .stdin(Stdio::null())
            .stdout(File::create(at("out")).unwrap())
            .stderr(File::create(at("err")).unwrap())
            .spawn()
            .unwrap();
        let begun = Instant::now();
        let status = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break Some(status);
            }
            if begun.elapsed() > WALL {
                child.kill().unwrap();
                child.wait().unwrap();
                break None;
            }
            std::thread::sleep(Duration::from_millis(5));
        };
        let text = |name: &str| String::from_utf8_lossy(&fs::read(at(name)).unwrap()).into_owned();
        Ended {
            code: status.and_then(|status| status.code()),
            signal: status.and_then(|status| status.signal()),
            timed_out: status.is_none(),
            out: text("out"),
            err: text("err"),
            reached: self.reached(&trace),
        }
    }

    /// The calls in a trace that a sheet is not to cause.
    fn reached(&self, trace: &Path) -> Vec<String> {
        let trace = fs::read(trace).unwrap_or_default();
        let calls = String::from_utf8_lossy(&trace).into_owned();
        let mut calls: Vec<String> = calls.lines().map(str::to_owned).collect();
        // The first is the start of the command itself.
        calls.retain(|call| call.contains('('));
        calls.into_iter().skip(1).filter(|call| !self.is_innocent(call)).collect()
    }

    /// What the system's loader and library open for themselves, and the sheet's own files.
    fn is_innocent(&self, call: &str) -> bool {
        let file = call.split('"').nth(1).unwrap_or_default();
        let system =
            ["/etc/ld.so", "/lib", "/usr/lib", "/proc/self/", "/sys/fs/cgroup/", "/dev/null"];
        let opens = call.contains("open(") || call.contains("openat(");
        let own = |name: &String| {
            file == name || Path::new(file).ends_with(Path::new("sheets").join(name))
        };
        opens && (system.iter().any(|start| file.starts_with(start)) || self.own.iter().any(own))
    }
}

/// Whether the calls of a process can be watched here.
pub(crate) fn can_trace() -> bool {
    static CAN: std::sync::OnceLock<bool> = std::sync::OnceLock::new();
    *CAN.get_or_init(|| {
        let tried = Command::new("strace")
            .args(["-f", "--seccomp-bpf", "-qq", "-e", WATCHED, "-o", "/dev/null", "true"])
            .stderr(Stdio::null())
            .status();
        tried.is_ok_and(|status| status.success())
    })
}
