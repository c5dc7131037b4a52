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
    resolve: Resolve,
}

#[derive(Deserialize)]
struct Package {
    id: String,
    name: String,
    version: String,
    license: Option<String>,
    #[serde(default)]
    authors: Vec<String>,
    repository: Option<String>,
    source: Option<String>,
    manifest_path: PathBuf,
}

#[derive(Deserialize)]
struct Resolve {
    nodes: Vec<Node>,
}

#[derive(Deserialize)]
struct Node {
    id: String,
    deps: Vec<Dependency>,
}

#[derive(Deserialize)]
struct Dependency {
    pkg: String,
    dep_kinds: Vec<DependencyKind>,
}

#[derive(Deserialize)]
struct DependencyKind {
    kind: Option<String>,
}

impl Libraries {
    /// The libraries of the program as it is built for a target: what is only used to build or test it is not in it.
    pub fn of_program(root: &Path, target: &str) -> Result<Self, String> {
        let arguments = [
            "metadata",
            "--format-version",
            "1",
            "--locked",
            "--filter-platform",
            target,
        ];
        let metadata: Metadata =
            serde_json::from_str(&output(&mut cargo(root, &arguments))?).map_err(|error| error.to_string())?;
        let packages: BTreeMap<&str, &Package> = metadata.packages.iter().map(|one| (one.id.as_str(), one)).collect();
        let nodes: BTreeMap<&str, Vec<&str>> = metadata
            .resolve
            .nodes
            .iter()
            .map(|node| (node.id.as_str(), linked(node)))
            .collect();
        let program = metadata.packages.iter().find(|package| package.name == PROGRAM);
        let program = program.ok_or_else(|| format!("there is no package {PROGRAM}"))?;
        let (mut seen, mut waiting) = (BTreeSet::new(), vec![program.id.as_str()]);
        while let Some(id) = waiting.pop() {
            if seen.insert(id) {
                waiting.extend(nodes.get(id).into_iter().flatten());
            }
        }
        let is_ours = |id: &str| packages.get(id).is_some_and(|package| package.source.is_none());
        let mut theirs: Vec<&Package> = seen
            .iter()
            .filter(|id| !is_ours(id))
            .filter_map(|id| packages.get(id).copied())
            .collect();
        theirs.sort_by(|one, other| (&one.name, &one.version).cmp(&(&other.name, &other.version)));
        let places: BTreeMap<&str, usize> = theirs.iter().zip(0..).map(|(one, at)| (one.id.as_str(), at)).collect();
        let used = |id: &str| -> Vec<usize> {
            let uses = nodes.get(id).into_iter().flatten();
            let places: BTreeSet<usize> = uses.filter_map(|used| places.get(used).copied()).collect();
            places.into_iter().collect()
        };
        let direct: BTreeSet<usize> = seen.iter().filter(|id| is_ours(id)).flat_map(|id| used(id)).collect();
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
                uses: used(&package.id),
            })
        });
        Ok(Self {
            all: all.collect::<Result<_, String>>()?,
            direct: direct.into_iter().collect(),
        })
    }
}

/// What a package links: neither what builds it nor what tests it.
fn linked(node: &Node) -> Vec<&str> {
    let linked = node
        .deps
        .iter()
        .filter(|used| used.dep_kinds.iter().any(|kind| kind.kind.is_none()));
    linked.map(|used| used.pkg.as_str()).collect()
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
