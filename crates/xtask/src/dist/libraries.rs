//! Libraries linked into the program, according to cargo.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use serde::Deserialize;
use toml_edit::DocumentMut;

use crate::process::{cargo, output};

/// Package of the program.
const PROGRAM: &str = "drysheath-cli";

/// A library in the program.
pub struct Library {
    pub name: String,
    pub version: String,
    /// Licences, as an SPDX expression.
    pub licence: String,
    pub authors: Vec<String>,
    pub repository: Option<String>,
    /// SHA-256 of its archive, from `Cargo.lock`.
    pub checksum: Option<String>,
    /// Folder of its sources.
    pub folder: PathBuf,
    /// Libraries that it uses itself, as indices among all.
    pub uses: Vec<usize>,
}

/// All libraries of the program, by name and version.
pub struct Libraries {
    pub all: Vec<Library>,
    /// Libraries that our own crates use directly.
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

/// Name and version of a package.
type Key<'t> = (&'t str, &'t str);

impl Libraries {
    /// Libraries of the program built for a target, without dependencies used only for builds or tests, and without
    /// macros and their dependencies.
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
        // Cargo's metadata has the features that the whole workspace needs, its tree those of the program.
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
                // An older notation.
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

/// Dependencies of each package in the output of `cargo tree`. A line has depth, name and version; dependencies are
/// listed below the first line of a package.
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

/// Checksums in `Cargo.lock`, by name and version.
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
