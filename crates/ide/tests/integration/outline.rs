//! Document symbols and workspace symbols.

use drysheath_fixture::{analysis, file, on_damaged_texts, snapshot};
use drysheath_ide::{OutlineItem, SymbolKind, outline, search};
use drysheath_office::kinds::{Key, KindId};
use drysheath_workspace::Snapshot;

const OFFICE: &str = "office elm {
    title \"Elm\"
    air-minimum { buried 3 psi }
}
part dryer big {
    contact humidity { healthy closed }
}
dryer d1 : big { title \"By the door\" }
cable c1 {
    section s1 { underground 1.2 km, depth 2 m }
    branch b1 {
        from 1 km
        section s1 { aerial 0.5 km }
    }
}
flow-sensor f1 {
    limit high 20 scfh major deadband 1 scfh
    pressure { span 0 .. 15 psi, limit low 3 psi }
}
air d1 -> c1
";

fn drawn(entries: &[OutlineItem], depth: usize, out: &mut String) {
    for entry in entries {
        let line = format!("{}{} ({})", "  ".repeat(depth), entry.name, entry.detail);
        out.push_str(line.trim_end());
        out.push('\n');
        drawn(&entry.children, depth + 1, out);
    }
}

#[test]
fn things_and_parts_with_what_is_in_them() {
    let snapshot = snapshot(&[("elm", OFFICE)]);
    let outline = outline(&analysis(&snapshot, "elm"));
    let mut out = String::new();
    drawn(&outline, 0, &mut out);
    assert_eq!(
        out,
        "\
elm (office \"Elm\")
  air-minimum (buried 3 psi)
big (part dryer)
  humidity (healthy closed)
d1 (dryer : big \"By the door\")
c1 (cable)
  s1 (underground 1.2 km)
  b1 (from 1 km)
    s1 (aerial 0.5 km)
f1 (flow-sensor)
  limit high (20 scfh major deadband 1 scfh)
  pressure (span 0 .. 15 psi)
    limit low (3 psi)
"
    );
    let branch = &outline[3].children[1];
    assert_eq!(branch.kind, SymbolKind::Named(Key::Branch));
    assert_eq!(branch.selection.of(OFFICE), "b1");
    assert!(branch.range.of(OFFICE).starts_with("branch b1 {"));
    assert!(branch.range.of(OFFICE).ends_with("    }"));
    assert_eq!(outline[0].kind, SymbolKind::Thing(KindId::Office));
    assert_eq!(outline[1].kind, SymbolKind::Part(KindId::Dryer));
}

fn sound(entries: &[OutlineItem], around: Option<&OutlineItem>) {
    for entry in entries {
        assert!(!entry.name.trim().is_empty());
        assert!(entry.range.contains(entry.selection), "{entry:?}");
        assert!(
            around.is_none_or(|around| around.range.contains(entry.range)),
            "{entry:?}"
        );
        sound(&entry.children, Some(entry));
    }
}

#[test]
fn damaged_texts_have_sound_outlines() {
    on_damaged_texts(|_, analysis, _| sound(&outline(analysis), None));
}

fn found(snapshot: &Snapshot, query: &str) -> Vec<String> {
    let hits = search(snapshot, query).into_iter();
    hits.map(|hit| format!("{} {}", hit.file, hit.name)).collect()
}

#[test]
fn things_of_all_files_are_found_best_first() {
    let oak = "office oak { title \"Oak\" }\nmonitor m1 { sensors 8 }\nmanifold main-far-1 { ports 4 }\nmonitor xm1 { sensors 8 }\n";
    let snapshot = snapshot(&[
        ("offices/elm", OFFICE),
        ("offices/oak", oak),
        ("parts/plant", "part monitor m1-big { sensors 8 }\n"),
    ]);
    assert_eq!(
        found(&snapshot, "M1"),
        [
            "offices/oak m1",
            "parts/plant m1-big",
            "offices/oak main-far-1",
            "offices/oak xm1"
        ]
    );
    assert_eq!(found(&snapshot, "oak"), ["offices/oak oak"]);
    assert_eq!(
        found(&snapshot, "m1 oak"),
        ["offices/oak m1", "offices/oak main-far-1", "offices/oak xm1"]
    );
    assert_eq!(found(&snapshot, "zz"), [""; 0]);
    let all = found(&snapshot, "");
    assert_eq!(all.len(), 10);
    assert_eq!(all[..2], ["offices/elm elm", "offices/oak oak"], "offices first");
    let hit = &search(&snapshot, "big")[0];
    assert_eq!(hit.kind, SymbolKind::Part(KindId::Dryer));
    assert_eq!(hit.place.range.of(OFFICE), "big");
}

#[test]
fn what_is_typed_is_found_at_once() {
    let before = snapshot(&[("elm", OFFICE)]);
    let typed = before.with_texts([(file(&before, "elm"), "monitor new-one { sensors 8 }\n".into())]);
    assert_eq!(found(&typed, "new"), ["elm new-one"]);
    assert_eq!(found(&typed, "c1"), [""; 0]);
    assert_eq!(found(&before, "c1"), ["elm c1"]);
}

#[test]
fn two_hundred_are_enough() {
    let contact = |number: u32| format!("contact k{number} {{ healthy closed }}\n");
    let many: Vec<_> = (0..500).map(contact).collect();
    let many = many.concat();
    let snapshot = snapshot(&[("elm", &many)]);
    let found = found(&snapshot, "k");
    assert_eq!(found.len(), 200);
    assert_eq!(found[0], "elm k0");
}
