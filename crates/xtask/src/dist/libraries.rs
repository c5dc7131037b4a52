//! The libraries that are in the program, as cargo knows them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use serde::Deserialize;
use toml_edit::DocumentMut;

use crate::process::{cargo, output};

/// The package whose program it is.
const PROGRAM: &str = "drysheath-cli";

/// A library in the program.
pub struct Library {
    pub name: String,
    pub version: String,
    /// Its licences as an expression of SPDX.
    pub licence: String,
    pub authors: Vec<String>,
    pub repository: Option<String>,
    /// The SHA-256 of its archive, as `Cargo.lock` holds it.
    pub checksum: Option<String>,
    /// Where its sources are.
    pub folder: PathBuf,
    /// The libraries that it uses itself, by their places among all.
    pub uses: Vec<usize>,
}

/// All libraries of the program, by name and version.
pub struct Libraries {
    pub all: Vec<Library>,
    /// Those that our own crates use.
    pub direct: Vec<usize>,
}

#[derive(Deserialize)]
struct Metadata {
    packages: Vec<Package>,
}

#[derive(Deserialize)]
struct Package {
    name: String,
    version: String,
    license: Option<String>,
    #[serde(default)]
    authors: Vec<String>,
    repository: Option<String>,
    source: Option<String>,
    manifest_path: PathBuf,
}

/// A package by its name and version.
type Key<'t> = (&'t str, &'t str);

impl Libraries {
    /// The libraries of the program as it is built for a target: what only builds or tests it is not in it, nor are macros and what
    /// only they use.
    pub fn of_program(root: &Path, target: &str) -> Result<Self, String> {
        let told = output(&mut cargo(
            root,
            &[
                "metadata",
                "--format-version",
                "1",
                "--locked",
                "--filter-platform",
                target,
            ],
        ))?;
        let metadata: Metadata = serde_json::from_str(&told).map_err(|error| error.to_string())?;
        // Cargo's metadata has the features that all of the workspace asks for, and its tree those of the program.
        let tree = output(&mut cargo(
            root,
            &[
                "tree",
                "--locked",
                "--package",
                PROGRAM,
                "--edges",
                "normal,no-proc-macro",
                "--target",
                target,
                "--prefix",
                "depth",
                "--format",
                " {p}",
            ],
        ))?;
        let nodes = nodes(&tree);
        let is_ours = |package: &Package| package.source.is_none();
        let (ours, mut theirs): (Vec<&Package>, Vec<&Package>) = metadata
            .packages
            .iter()
            .filter(|package| nodes.contains_key(&package.key()))
            .partition(|package| is_ours(package));
        if ours.is_empty() {
            return Err(format!("there is no package {PROGRAM}"));
        }
        theirs.sort_by_key(|package| package.key());
        let places: BTreeMap<Key<'_>, usize> = theirs.iter().zip(0..).map(|(one, at)| (one.key(), at)).collect();
        let used = |package: &Package| -> Vec<usize> {
            let uses = nodes.get(&package.key()).into_iter().flatten();
            let places: BTreeSet<usize> = uses.filter_map(|used| places.get(used).copied()).collect();
            places.into_iter().collect()
        };
        let direct: BTreeSet<usize> = ours.iter().flat_map(|package| used(package)).collect();
        let checksums = checksums(root)?;
        let all = theirs.iter().map(|package| {
            let licence = package.license.as_ref();
            Ok(Library {
                name: package.name.clone(),
                version: package.version.clone(),
                // An older way to write it.
                licence: licence
                    .ok_or_else(|| format!("{} {} states no licence", package.name, package.version))?
                    .replace('/', " OR "),
                authors: package.authors.clone(),
                repository: package.repository.clone(),
                checksum: checksums.get(&(package.name.clone(), package.version.clone())).cloned(),
                folder: package.manifest_path.parent().unwrap_or(root).to_owned(),
                uses: used(package),
            })
        });
        Ok(Self {
            all: all.collect::<Result<_, String>>()?,
            direct: direct.into_iter().collect(),
        })
    }
}

impl Package {
    fn key(&self) -> Key<'_> {
        (&self.name, &self.version)
    }
}

/// What each package of a tree uses. A line has the depth, the name and the version of one; what a package uses is below the first
/// line of it.
fn nodes(tree: &str) -> BTreeMap<Key<'_>, BTreeSet<Key<'_>>> {
    let mut nodes: BTreeMap<Key<'_>, BTreeSet<Key<'_>>> = BTreeMap::new();
    let mut above: Vec<Key<'_>> = Vec::new();
    for line in tree.lines() {
        let mut words = line.split_whitespace();
        let (Some(depth), Some(name), Some(version)) = (words.next(), words.next(), words.next()) else {
            continue;
        };
        let key = (name, version.trim_start_matches('v'));
        above.truncate(depth.parse().unwrap_or(0));
        if let Some(user) = above.last() {
            nodes.entry(*user).or_default().insert(key);
        }
        nodes.entry(key).or_default();
        above.push(key);
    }
    nodes
}

/// The checksums of `Cargo.lock`, by name and version.
fn checksums(root: &Path) -> Result<BTreeMap<(String, String), String>, String> {
    let path = root.join("Cargo.lock");
    let text = std::fs::read_to_string(&path).map_err(|error| super::words(&path, &error))?;
    let lock: DocumentMut = text.parse().map_err(|error| format!("{}: {error}", path.display()))?;
    let packages = lock.get("package").and_then(toml_edit::Item::as_array_of_tables);
    let found = packages.into_iter().flatten().filter_map(|package| {
        let field = |name| Some(package.get(name)?.as_str()?.to_owned());
        Some(((field("name")?, field("version")?), field("checksum")?))
    });
    Ok(found.collect())
}
