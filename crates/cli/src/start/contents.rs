//! Contents of a new repository.

use drysheath_report::settings_sample;
use drysheath_rules::example::OFFICE;
use drysheath_syntax::formatted;

/// A file of a new repository.
pub(super) struct NewFile {
    /// Path from the repository root.
    pub path: &'static str,
    pub text: String,
    /// Whether it is executable.
    pub is_program: bool,
    /// Whether an existing file is kept instead.
    pub may_be_there: bool,
}

/// Files of a new repository.
pub(super) fn contents() -> Vec<NewFile> {
    let (office, parts) = example();
    let file = |path, text: &str| NewFile {
        path,
        text: text.replace("@VERSION@", env!("CARGO_PKG_VERSION")),
        is_program: false,
        may_be_there: false,
    };
    let program = |path, text: &str| NewFile {
        is_program: true,
        ..file(path, text)
    };
    vec![
        program(".ci/comment", include_str!("template/comment")),
        program(".ci/drysheath", include_str!("template/drysheath")),
        program(".ci/gate", include_str!("template/gate")),
        file(".editorconfig", include_str!("template/editorconfig")),
        file(".gitattributes", include_str!("template/gitattributes")),
        file(
            ".github/workflows/offices.yml",
            include_str!("template/github-workflow.yml"),
        ),
        file(".gitignore", include_str!("template/gitignore")),
        file(".gitlab-ci.yml", include_str!("template/gitlab-ci.yml")),
        file(
            ".pre-commit-config.yaml",
            include_str!("template/pre-commit-config.yaml"),
        ),
        NewFile {
            may_be_there: true,
            ..file("README.md", include_str!("template/README.md"))
        },
        file("drysheath.toml", &settings_sample()),
        file("offices/elm-hollow.office", &formatted(&office)),
        file("parts/field-sensors.office", &formatted(&parts)),
    ]
}

/// The example office, with the fields of its field sensor moved to a part in a separate file.
fn example() -> (String, String) {
    const SENSOR: &str = "pressure-sensor ps1 {";
    const OF_THE_PART: [&str; 4] = ["span", "step", "error", "proof"];
    let mut office = String::from("# Elm Hollow, an invented office to copy from.\n\nuse parts/field-sensors\n\n");
    let mut parts = String::from("# Sensors out on the cables. Invented.\n\npart pressure-sensor field-pressure {\n");
    let mut inside = false;
    for line in OFFICE.lines() {
        let first = line.split_whitespace().next().unwrap_or_default();
        let line = match line {
            SENSOR => {
                inside = true;
                "pressure-sensor ps1 : field-pressure {"
            }
            line => line,
        };
        inside &= first != "}";
        let to = if inside && OF_THE_PART.contains(&first) {
            &mut parts
        } else {
            &mut office
        };
        to.push_str(line);
        to.push('\n');
    }
    parts.push_str("}\n");
    (office, parts)
}
