//! Builds the packages for installation without a toolchain: an archive with the program, its manual pages and
//! completions, files for editors, the licences and list of the libraries in it; a package for VS Code with the program
//! in it; and the checksums of the packages.
//!
//! Builds are reproducible: paths of the machine are removed from the program, files are in name order, and all have
//! the time of the commit they are built from.

mod archive;
mod editors;
mod libraries;
mod licences;
mod sbom;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;
use std::{fs, io};

use crate::digest::sha256;
use crate::process::{cargo, output, run};
use archive::{File, Format};
use libraries::Libraries;

/// Static target for this machine, used if its toolchain components are installed.
const STATIC: &str = if cfg!(target_arch = "aarch64") {
    "aarch64-unknown-linux-musl"
} else {
    "x86_64-unknown-linux-musl"
};
/// Whether this system has a static target and can run its programs.
const HAS_STATIC: bool = cfg!(target_os = "linux");
/// Shells with completions, and the file name that each expects.
const SHELLS: [(&str, &str); 5] = [
    ("bash", "drysheath.bash"),
    ("elvish", "drysheath.elv"),
    ("fish", "drysheath.fish"),
    ("powershell", "drysheath.ps1"),
    ("zsh", "_drysheath"),
];

/// Inputs and output of the packaging.
pub struct Options {
    /// Folder for the packages and the checksums.
    pub to: PathBuf,
    /// Target triple. By default, the static target of this machine if it can be built, otherwise the host target.
    pub target: Option<String>,
    /// A program already built, to be packaged as it is.
    pub program: Option<PathBuf>,
    /// A program that runs on this machine and prints the manual pages where the packaged one does not run here. By default
    /// one is built.
    pub manuals_of: Option<PathBuf>,
}

/// Writes the packages of this version and their checksums.
///
/// # Errors
///
/// If something cannot be built, read or written.
pub fn dist(root: &Path, options: &Options) -> Result<(), String> {
    let host = host()?;
    let target = match &options.target {
        Some(target) => target.clone(),
        None if options.program.is_none() && has_static_target() => STATIC.to_owned(),
        None => host.clone(),
    };
    if HAS_STATIC && options.target.is_none() && options.program.is_none() && target == host {
        println!(
            "not static: {STATIC} wants its standard library (rustup target add {STATIC}) and a compiler for C \
             (Debian: apt-get install musl-tools)"
        );
    }
    let program = match &options.program {
        Some(program) => program.clone(),
        None => build(root, &target)?,
    };
    // Help and manual pages are taken from a program that runs on this machine.
    let speaking = if runs_here(&target, &host) {
        program.clone()
    } else if let Some(runs_here) = &options.manuals_of {
        runs_here.clone()
    } else {
        run(&mut cargo(
            root,
            &["build", "--quiet", "--workspace", "--bin", "drysheath"],
        ))?;
        root.join("target/debug/drysheath")
    };
    let version = env!("CARGO_PKG_VERSION");
    let name = format!("drysheath-{version}-{target}");
    let files = contents(root, &target, &program, &speaking)?;
    let format = Format::of_target(&target);
    let packed = format
        .pack(&name, &files, time(root))
        .map_err(|error| error.to_string())?;
    fs::create_dir_all(&options.to).map_err(|error| words(&options.to, &error))?;
    let archive = format!("{name}.{}", format.extension());
    let mut sums = format!("{}  {archive}\n", sha256(&packed));
    put(&options.to.join(&archive), &packed)?;
    let size = files
        .iter()
        .find(|file| file.is_program)
        .map_or(0, |file| file.bytes.len());
    println!("{archive}: {} bytes in {} files", packed.len(), files.len());
    // A program already built is packaged without the VS Code package, which is faster.
    if options.program.is_none() {
        let package = format!("{name}.vsix");
        let path = options.to.join(&package);
        editors::package(root, &path, &program, &target, time(root))?;
        let bytes = read(&path)?;
        let _ = writeln!(sums, "{}  {package}", sha256(&bytes));
        println!("{package}: {} bytes", bytes.len());
    }
    put(&options.to.join(format!("{name}.sha256")), sums.as_bytes())?;
    println!("program: {size} bytes");
    if speaking == program {
        println!(
            "start: {:.2} ms, the median of {RUNS} runs of `drysheath --version`",
            start(&program)?
        );
    }
    Ok(())
}

/// All files of the archive, in path order.
fn contents(root: &Path, target: &str, program: &Path, speaking: &Path) -> Result<Vec<File>, String> {
    let libraries = Libraries::of_program(root, target)?;
    let extension = if target.contains("windows") { ".exe" } else { "" };
    let mut files = vec![
        File {
            path: format!("drysheath{extension}"),
            bytes: read(program)?,
            is_program: true,
        },
        File::text("LICENSE", read(&root.join("LICENSE"))?),
        File::text("README.md", readme(root)?.into_bytes()),
        File::text("CHANGES.md", read(&root.join("crates/cli/CHANGES.md"))?),
        File::text("LICENCES.md", licences::page(&libraries)?.into_bytes()),
        File::text("libraries.cdx.json", sbom::document(&libraries).into_bytes()),
    ];
    for command in commands(speaking)? {
        let (name, arguments) = match command.as_str() {
            "" => ("drysheath".to_owned(), vec!["man-page"]),
            command => (format!("drysheath-{command}"), vec!["man-page", command]),
        };
        let page = said(speaking, &arguments)?;
        files.push(File::text(&format!("man/man1/{name}.1"), page.into_bytes()));
    }
    for (shell, name) in SHELLS {
        let completion = said(speaking, &["shell-completion", shell])?;
        files.push(File::text(&format!("completions/{name}"), completion.into_bytes()));
    }
    files.extend(editors::files(root)?);
    files.sort_by(|one, other| one.path.cmp(&other.path));
    Ok(files)
}

/// The README without the parts that apply only to the sources: links to files that are not in the archive.
fn readme(root: &Path) -> Result<String, String> {
    const INSTALLED: &str = "\
# drysheath

`drysheath` (on Windows `drysheath.exe`) is a single program and needs nothing else. Put it on the path: on Linux and macOS for example
in `~/.local/bin`, on Windows in a folder that the environment variable `Path` names. Then `drysheath start FOLDER` writes a first
repository, and `drysheath --help` lists all commands.

| what | where |
|---|---|
| manual pages | `man/man1`: copy them to `~/.local/share/man/man1` |
| completions of shells | `completions` |
| files for editors | `editors`, with a README for each |
| what changed from version to version | `CHANGES.md`, or `drysheath history` |
| the libraries in the program | `libraries.cdx.json` (CycloneDX 1.6); their licences are in `LICENCES.md` |

The rules advise. Local codes and licensed people govern all work on battery plant, grounds, compressed air and manholes.
";
    // The licence of the program is stated in its own file.
    let licence = fs::read_to_string(root.join("LICENSE")).map_err(|error| words(&root.join("LICENSE"), &error))?;
    let first = licence.lines().next().unwrap_or_default();
    Ok(format!("{INSTALLED}\n{first}: see `LICENSE`.\n"))
}

/// Builds the program for a target, without symbols and without paths of this machine in it.
fn build(root: &Path, target: &str) -> Result<PathBuf, String> {
    let folder = root.join("target/dist");
    let mut command = cargo(
        root,
        &[
            "build",
            "--profile",
            "dist",
            "--locked",
            "--package",
            "drysheath-cli",
            "--target",
            target,
        ],
    );
    let home = cargo_home();
    let places = [(root, "/drysheath"), (home.as_path(), "/cargo")];
    let own = |name: &str| std::env::var(name).ok();
    let rust = rust_flags(own("CARGO_ENCODED_RUSTFLAGS"), own("RUSTFLAGS"), &places);
    let c = c_flags(own("CFLAGS"), &places);
    command
        .arg("--target-dir")
        .arg(&folder)
        .env("CARGO_ENCODED_RUSTFLAGS", rust)
        .env("CFLAGS", c)
        .env("CC_SHELL_ESCAPED_FLAGS", "1")
        .env("CARGO_INCREMENTAL", "0");
    run(&mut command)?;
    let extension = if target.contains("windows") { ".exe" } else { "" };
    Ok(folder.join(target).join("dist").join(format!("drysheath{extension}")))
}

/// Flags for the Rust compiler: those of the environment, and path remappings for the folders of this machine.
/// Separated by a character that occurs in no path; if both variables are set, cargo uses the encoded one.
fn rust_flags(encoded: Option<String>, plain: Option<String>, places: &[(&Path, &str)]) -> String {
    const SEPARATOR: &str = "\u{1f}";
    let plain = || {
        plain
            .unwrap_or_default()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(SEPARATOR)
    };
    let own = encoded.unwrap_or_else(plain);
    let ours = places
        .iter()
        .map(|(from, to)| format!("--remap-path-prefix={}={to}", from.display()));
    let all = Some(own).filter(|own| !own.is_empty()).into_iter().chain(ours);
    all.collect::<Vec<_>>().join(SEPARATOR)
}

/// Flags for the C compiler, quoted as for a shell: those of the environment, no symbols, no time stamps (the allocator
/// contains its build time), and path remappings for the folders of this machine.
fn c_flags(own: Option<String>, places: &[(&Path, &str)]) -> String {
    let mut flags = own.unwrap_or_default();
    flags.push_str(" -g0 -Wno-builtin-macro-redefined '-D__DATE__=\"\"' '-D__TIME__=\"\"'");
    for (from, to) in places {
        let from = from.display().to_string().replace('\'', "'\\''");
        let _ = write!(flags, " '-ffile-prefix-map={from}={to}'");
    }
    flags.trim_start().to_owned()
}

/// Folder in which cargo keeps the sources of libraries.
fn cargo_home() -> PathBuf {
    let home = |name: &str| std::env::var_os(name).map(PathBuf::from);
    home("CARGO_HOME")
        .or_else(|| Some(home("HOME")?.join(".cargo")))
        .unwrap_or_else(|| PathBuf::from("/nonexistent"))
}

/// Target triple of this machine.
fn host() -> Result<String, String> {
    let told = output(Command::new("rustc").arg("-vV"))?;
    let host = told.lines().find_map(|line| line.strip_prefix("host: "));
    host.map(str::to_owned)
        .ok_or_else(|| "rustc does not say what this machine is".to_owned())
}

/// Whether the static target of this machine can be built: its standard library and a C compiler are installed.
fn has_static_target() -> bool {
    let library = Command::new("rustc")
        .args(["--print", "target-libdir", "--target", STATIC])
        .output();
    let folder = library.map(|told| PathBuf::from(String::from_utf8_lossy(&told.stdout).trim()));
    let compiler = Command::new("musl-gcc")
        .arg("--version")
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    HAS_STATIC && folder.is_ok_and(|folder| folder.is_dir()) && compiler.is_ok_and(|status| status.success())
}

fn runs_here(target: &str, host: &str) -> bool {
    target == host || (HAS_STATIC && target == STATIC)
}

/// Commands of the program; the empty one is the program itself.
fn commands(program: &Path) -> Result<Vec<String>, String> {
    let help = said(program, &["--help"])?;
    let listed = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty());
    // Descriptions of commands may continue on further lines, which are indented more.
    let commands: Vec<String> = listed
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|command| *command != "help")
        .map(str::to_owned)
        .collect();
    if commands.is_empty() {
        return Err("the program lists no commands".to_owned());
    }
    Ok(std::iter::once(String::new()).chain(commands).collect())
}

fn said(program: &Path, arguments: &[&str]) -> Result<String, String> {
    output(Command::new(program).args(arguments))
}

/// Number of runs for measuring the start time.
const RUNS: usize = 21;

/// Median start time of the program, ms.
fn start(program: &Path) -> Result<f64, String> {
    let mut times = Vec::with_capacity(RUNS);
    for _ in 0..RUNS {
        let begun = Instant::now();
        said(program, &["--version"])?;
        times.push(begun.elapsed().as_secs_f64() * 1000.0);
    }
    times.sort_by(f64::total_cmp);
    Ok(times.get(RUNS / 2).copied().unwrap_or_default())
}

/// Time stamp of all files, seconds since 1970: that of the last commit
/// (<https://reproducible-builds.org/specs/source-date-epoch>).
fn time(root: &Path) -> u64 {
    let stated = std::env::var("SOURCE_DATE_EPOCH").ok();
    let commit = || {
        let told = Command::new("git")
            .args(["log", "-1", "--format=%ct"])
            .current_dir(root)
            .output()
            .ok()?;
        Some(String::from_utf8_lossy(&told.stdout).into_owned())
    };
    stated
        .or_else(commit)
        .and_then(|time| time.trim().parse().ok())
        .unwrap_or(0)
}

fn read(path: &Path) -> Result<Vec<u8>, String> {
    fs::read(path).map_err(|error| words(path, &error))
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), String> {
    fs::write(path, bytes).map_err(|error| words(path, &error))
}

fn words(path: &Path, error: &io::Error) -> String {
    format!("{}: {error}", path.display())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_with_a_blank_is_one_flag_and_the_flags_of_the_user_stay() {
        let places = [(Path::new("/home/a b/it's"), "/drysheath")];
        assert_eq!(
            rust_flags(None, Some("-C target-cpu=native".to_owned()), &places),
            "-C\u{1f}target-cpu=native\u{1f}--remap-path-prefix=/home/a b/it's=/drysheath"
        );
        let encoded = Some("--cfg\u{1f}feature=\"a b\"".to_owned());
        assert_eq!(
            rust_flags(encoded, Some("-C debuginfo=2".to_owned()), &places),
            "--cfg\u{1f}feature=\"a b\"\u{1f}--remap-path-prefix=/home/a b/it's=/drysheath"
        );
        assert_eq!(rust_flags(None, None, &[]), "");
        assert_eq!(
            c_flags(Some("-O2".to_owned()), &places),
            r#"-O2 -g0 -Wno-builtin-macro-redefined '-D__DATE__=""' '-D__TIME__=""' '-ffile-prefix-map=/home/a b/it'\''s=/drysheath'"#
        );
    }
}
