//! Bill of materials of the libraries in the program: `CycloneDX` 1.6, as JSON (ECMA-424).

use serde_json::{Value, json};

use super::libraries::{Libraries, Library};

/// The document. It has no serial number or time stamp, so that the same libraries give the same bytes.
pub fn document(libraries: &Libraries) -> String {
    let program = format!("drysheath@{}", env!("CARGO_PKG_VERSION"));
    let references = |places: &[usize]| -> Vec<String> {
        places
            .iter()
            .filter_map(|at| Some(reference(libraries.all.get(*at)?)))
            .collect()
    };
    let mut dependencies = vec![json!({ "ref": program, "dependsOn": references(&libraries.direct) })];
    dependencies.extend(
        libraries
            .all
            .iter()
            .map(|library| json!({ "ref": reference(library), "dependsOn": references(&library.uses) })),
    );
    let components: Vec<Value> = libraries.all.iter().map(component).collect();
    let document = json!({
        "$schema": "http://cyclonedx.org/schema/bom-1.6.schema.json",
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {
            "component": {
                "type": "application",
                "bom-ref": program,
                "name": "drysheath",
                "version": env!("CARGO_PKG_VERSION"),
                "licenses": [{ "license": { "id": env!("CARGO_PKG_LICENSE") } }],
            },
        },
        "components": components,
        "dependencies": dependencies,
    });
    format!("{document:#}\n")
}

/// Package URL (purl) of a library, which identifies it in the document.
fn reference(library: &Library) -> String {
    // A version may contain `+`, which must be escaped in a URL.
    format!("pkg:cargo/{}@{}", library.name, library.version.replace('+', "%2B"))
}

fn component(library: &Library) -> Value {
    let mut component = json!({
        "type": "library",
        "bom-ref": reference(library),
        "name": library.name,
        "version": library.version,
        "purl": reference(library),
        "licenses": [{ "expression": library.licence }],
    });
    let Some(fields) = component.as_object_mut() else {
        return component;
    };
    if let Some(checksum) = &library.checksum {
        fields.insert("hashes".to_owned(), json!([{ "alg": "SHA-256", "content": checksum }]));
    }
    if let Some(repository) = &library.repository {
        fields.insert(
            "externalReferences".to_owned(),
            json!([{ "type": "vcs", "url": repository }]),
        );
    }
    component
}
