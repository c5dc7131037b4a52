//! What the tests of the boundary share: running the command, and folders to run it in.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

pub const CLEAN: &str = include_str!("../../../../grammar/example.office");

/// A name that is in no message by chance.
pub const SECRET: &str = "undisclosed";

pub fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_drysheath"));
    command.args(arguments).current_dir(folder).stdin(Stdio::null());
    // Tests keep nothing in the caches of whoever runs them.
    for variable in CACHES {
        command.env(variable, NOWHERE);
    }
    command
}

/// The variables that say where a user's caches are.
pub const CACHES: [&str; 2] = ["XDG_CACHE_HOME", "LOCALAPPDATA"];
/// A place in which no folder can be made.
const NOWHERE: &str = if cfg!(windows) {
    r"C:\nul\nowhere"
} else {
    "/dev/null/nowhere"
};

/// Runs the command, which must end soon.
pub fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = command(folder, arguments);
    let child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    ended(child, arguments)
}

/// What a process says, which must end soon.
pub fn ended(mut child: Child, what: &[&str]) -> Output {
    const LONG: Duration = Duration::from_mins(1);
    let out = reader(child.stdout.take());
    let err = reader(child.stderr.take());
    let start = Instant::now();
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            let (stdout, stderr) = (out.join().unwrap(), err.join().unwrap());
            return Output { status, stdout, stderr };
        }
        if start.elapsed() > LONG {
            child.kill().unwrap();
            panic!("{what:?} does not end");
        }
        std::thread::sleep(Duration::from_millis(5));
    }
}

fn reader(stream: Option<impl std::io::Read + Send + 'static>) -> std::thread::JoinHandle<Vec<u8>> {
    std::thread::spawn(move || {
        let mut bytes = Vec::new();
        if let Some(mut stream) = stream {
            stream.read_to_end(&mut bytes).unwrap();
        }
        bytes
    })
}

pub fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

pub fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

pub fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

/// A repository of git with one clean office, committed.
pub fn repository() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("drysheath.toml"), "language = 1\n").unwrap();
    fs::create_dir(folder.path().join("offices")).unwrap();
    fs::write(folder.path().join("offices/elm.office"), CLEAN).unwrap();
    git(folder.path(), &["init", "--quiet", "--initial-branch", "main"]);
    commit(folder.path(), "start");
    folder
}

pub fn git(folder: &Path, arguments: &[&str]) -> Output {
    let output = git_command(folder, arguments).output().unwrap();
    assert!(output.status.success(), "git {arguments:?}: {}", err(&output));
    output
}

/// A command of git that depends on nobody's settings.
pub fn git_command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new("git");
    command
        .args(["-c", "user.name=Ann Example", "-c", "user.email=ann@example.org"])
        .args(["-c", "commit.gpgsign=false"])
        .args(arguments)
        .current_dir(folder)
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("GIT_CONFIG_SYSTEM", "/dev/null");
    command
}

pub fn commit(folder: &Path, message: &str) {
    git(folder, &["add", "--all"]);
    git(folder, &["commit", "--quiet", "--message", message]);
}

/// An office with another name, site code and address.
pub fn office(name: &str, number: usize) -> String {
    CLEAN
        .replace("elm-hollow", name)
        .replace("ELMH01", &format!("SITE{number:02}"))
        .replace("192.0.2.11", &format!("192.0.2.{}", number + 20))
}

/// Every file and folder below a folder, hidden ones too, and what the files say.
pub fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.insert(format!("{}/", path.display()), Vec::new());
            found.extend(contents(&path));
        } else {
            found.insert(path.display().to_string(), fs::read(&path).unwrap());
        }
    }
    found
}

/// Copies a folder with all that is in it.
pub fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            fs::copy(&path, &target).unwrap();
        }
    }
}
