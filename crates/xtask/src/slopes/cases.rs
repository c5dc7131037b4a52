//! Files that consist of one thing repeated.

use std::fmt::Write;

/// Something that a file or a repository can contain any number of times.
pub(super) struct Case {
    pub name: &'static str,
    /// How many there are in the first run; each later one has twice as many.
    pub count: u32,
    /// Reason why its cost may grow faster than its count, if that is accepted.
    pub known: Option<&'static str>,
    /// Generates the files with that count, with their paths.
    pub files: fn(u32) -> Vec<(String, String)>,
}

/// A case with one file: a part that occurs once, then one that occurs `count` times, generated from its number.
macro_rules! one_file {
    ($name:literal, $count:literal, $once:expr, $each:expr $(, $end:expr)?) => {
        Case {
            name: $name,
            count: $count,
            known: None,
            files: |count| {
                let each: fn(u32, &mut String) = $each;
                let mut text = String::from($once);
                (0..count).for_each(|number| each(number, &mut text));
                $(text.push_str($end);)?
                vec![("x.office".to_owned(), text)]
            },
        }
    };
}

pub(super) static CASES: &[Case] = &[
    one_file!("unknown names", 10_000, OFFICE, |n, text| line(
        text,
        format_args!("air q{n} -> r{n}")
    )),
    one_file!("unknown names beside known", 5_000, OFFICE, |n, text| {
        line(
            text,
            format_args!("block tb{n} {{ pairs 10 }}\nwire tx{n} pair 1 -> tb{n} pair 1"),
        );
    }),
    one_file!(
        "unknown fields",
        10_000,
        "cable c1 {\n",
        |n, text| line(text, format_args!("q{n} 3")),
        "}\n"
    ),
    one_file!("unknown kinds", 10_000, OFFICE, |n, text| line(
        text,
        format_args!("gizmo g{n} {{ pairs 3 }}")
    )),
    one_file!("unknown parts", 10_000, OFFICE, |n, text| line(
        text,
        format_args!("block b{n} : q{n}")
    )),
    one_file!("parts beside unknown parts", 5_000, OFFICE, |n, text| {
        line(text, format_args!("part block p{n} {{ pairs 10 }}\nblock b{n} : q{n}"));
    }),
    one_file!("unreadable statements", 10_000, OFFICE, |n, text| line(
        text,
        format_args!("block : {n} }}")
    )),
    one_file!("acceptances", 10_000, BLOCK, |_, text| {
        line(
            text,
            format_args!("accept pair-not-said-spare on tb because \"known\" until 2099-01-01"),
        );
    }),
    one_file!("acceptances of many things", 5_000, OFFICE, |n, text| {
        line(
            text,
            format_args!(
                "block tb{n} {{ pairs 10 }}\naccept pair-not-said-spare on tb{n} because \"known\" until 2099-01-01"
            ),
        );
    }),
    one_file!(
        "places",
        10_000,
        "cable c1 {\n",
        |n, text| line(text, format_args!("place p{n} {{ at {}.5 m }}", n + 1)),
        "}\n"
    ),
    one_file!(
        "sections",
        10_000,
        "cable c1 {\n",
        |n, text| {
            line(
                text,
                format_args!("section s{n} {{ buried 30 m, resistance 0.1 psi/scfh/kft, usage 0.1 scfh }}"),
            );
        },
        "}\n"
    ),
    Case {
        known: Some(LEAKS),
        ..one_file!(
            "sections with air",
            10_000,
            concat!(
                "office o { elevation 5 m }\ndryer d1 { delivers 10 psi, capacity 20000 scfh }\nair d1 -> c1\n",
                "cable c1 {\n"
            ),
            |n, text| {
                line(
                    text,
                    format_args!("section s{n} {{ buried 0.5 m, resistance 0.001 psi/scfh/kft, usage 0.001 scfh }}"),
                );
            },
            "}\n"
        )
    },
    one_file!(
        "branches",
        10_000,
        "cable c1 {\nsection s { buried 100 km, resistance 0.1 psi/scfh/kft, usage 1 scfh }\n",
        |n, text| {
            line(
                text,
                format_args!(
                    "branch b{n} {{ at {}.5 m, section t {{ buried 30 m, resistance 0.1 psi/scfh/kft, usage 0.1 scfh }} }}",
                    n + 1
                ),
            );
        },
        "}\n"
    ),
    Case {
        known: Some(LEAKS),
        ..one_file!(
            "sensors on one cable",
            5_000,
            concat!(
                "office o { elevation 5 m }\ndryer d1 { delivers 10 psi, capacity 20000 scfh }\nair d1 -> c1\n",
                "cable c1 { section s { buried 100 km, resistance 0.001 psi/scfh/kft, usage 1 scfh } }\n"
            ),
            |n, text| {
                line(
                    text,
                    format_args!(
                        "pressure-sensor p{n} {{ at c1 {}.5 m, span 0 .. 15 psi, limit low 5 psi major deadband 0.3 psi }}",
                        n + 1
                    ),
                );
            }
        )
    },
    one_file!(
        "states",
        2_000,
        concat!(
            "office o { elevation 5 m }\ndryer d1 { delivers 10 psi, capacity 200 scfh }\nair d1 -> c1\n",
            "cable c1 { section s { buried 3 km, resistance 0.1 psi/scfh/kft, usage 1 scfh } }\n",
            "pressure-sensor p1 { at c1 3 km, span 0 .. 15 psi, step 0.1 psi, error 0.2 psi, limit low 5 psi major deadband 0.3 psi }\n"
        ),
        |n, text| {
            line(
                text,
                format_args!(
                    "when c1 leaks {}.5 scfh at {} m expect c1 above 1 psi, p1 low",
                    n % 20,
                    n % 3_000 + 1
                ),
            );
        }
    ),
    one_file!("wrong runs", 10_000, BLOCK, |n, text| line(
        text,
        format_args!("wire tb pair {} -> -> tb {n}", n + 1)
    )),
    one_file!("runs backwards", 10_000, "dryer d1 {}\nregulator r1 {}\n", |_, text| {
        line(text, format_args!("air r1 -> d1"));
    }),
    one_file!(
        "runs of one pair",
        10_000,
        "block tb { pairs 10 }\nmonitor m { sensors 4 }\n",
        |_, text| {
            line(text, format_args!("wire tb pair 1 -> m sensor 1"));
        }
    ),
    one_file!(
        "pairs of one block",
        10_000,
        "block ta { pairs 100000 }\nblock tb { pairs 100000 }\n",
        |n, text| {
            line(text, format_args!("wire ta pair {0} -> tb pair {0}", n + 1));
        }
    ),
    one_file!(
        "inputs of one monitor",
        5_000,
        "monitor m { sensors 100000 }\n",
        |n, text| {
            line(
                text,
                format_args!(
                    "pressure-sensor p{n} {{ span 0 .. 15 psi }}\nwire p{n} -> m sensor {}",
                    n + 1
                ),
            );
        }
    ),
    one_file!("things of one name", 10_000, OFFICE, |_, text| line(
        text,
        format_args!("block tb {{ pairs 10 }}")
    )),
    one_file!("names that look alike", 10_000, OFFICE, |n, text| {
        line(
            text,
            format_args!(
                "block {}tb {{ pairs 10 }}",
                format!("{n:b}").replace('0', "o").replace('1', "O")
            ),
        );
    }),
    one_file!(
        "fields said twice",
        10_000,
        "block tb {\n",
        |_, text| line(text, format_args!("pairs 10")),
        "}\n"
    ),
    one_file!("nested braces", 10_000, "", |n, text| {
        let _ = write!(text, "cable c{n} {{ ");
    }),
    one_file!("nested fields", 10_000, "cable c1 { ", |_, text| text
        .push_str("branch b { ")),
    one_file!("closing braces", 10_000, OFFICE, |_, text| line(
        text,
        format_args!("}}")
    )),
    one_file!(
        "limits",
        10_000,
        "pressure-sensor p1 { span 0 .. 15 psi\n",
        |n, text| {
            line(
                text,
                format_args!("limit low {}.{} psi major deadband 0.3 psi", n % 13, n % 10),
            );
        },
        "}\n"
    ),
    one_file!(
        "spare ranges that overlap",
        10_000,
        "block tb { pairs 100000 }\n",
        |n, text| {
            line(
                text,
                format_args!("spare tb pair {} .. {}", n % 50_000 + 1, n % 50_000 + 50_000),
            );
        }
    ),
    one_file!(
        "spare ranges side by side",
        10_000,
        "block tb { pairs 100000 }\n",
        |n, text| {
            line(text, format_args!("spare tb pair {}", 2 * n + 1));
        }
    ),
    one_file!(
        "pairs assigned to others",
        10_000,
        "block tb { pairs 100000 }\n",
        |n, text| {
            line(text, format_args!("assigned tb pair {} to \"others\"", n + 1));
        }
    ),
    one_file!(
        "former names",
        10_000,
        "block tb { pairs 10\n",
        |n, text| line(text, format_args!("formerly t{n}")),
        "}\n"
    ),
    one_file!("former names of many things", 10_000, OFFICE, |n, text| {
        line(text, format_args!("block tb{n} {{ pairs 10, formerly t{n} }}"));
    }),
    one_file!(
        "records",
        10_000,
        "block tb { pairs 10\n",
        |n, text| line(text, format_args!("record r{n} \"x\"")),
        "}\n"
    ),
    one_file!(
        "readings",
        10_000,
        "pressure-sensor p1 { span 0 .. 15 psi }\n",
        |n, text| {
            line(
                text,
                format_args!("reading 20{:02}-01-{:02} p1 9.5 psi", n % 26, n % 28 + 1),
            );
        }
    ),
    one_file!(
        "fuses of one panel",
        5_000,
        "battery b {}\nfuse-panel f { positions 100000 }\npower b -> f with 30 A, 10 awg, 3 m\n",
        |n, text| {
            line(
                text,
                format_args!(
                    "monitor m{n} {{ draws 5 W }}\npower f fuse {} -> m{n} with 3 A, 14 awg, 4 m",
                    n + 1
                ),
            );
        }
    ),
    one_file!(
        "grounds of one bar",
        5_000,
        "ground-bar g { principal yes }\n",
        |n, text| {
            line(
                text,
                format_args!("monitor m{n} {{}}\nground m{n} frame -> g with 6 awg, 3 m"),
            );
        }
    ),
    one_file!(
        "outlets of one manifold",
        2_000,
        "office o { elevation 5 m }\ndryer d1 { delivers 10 psi, capacity 20000 scfh }\nmanifold mf { outlets 100000 }\nair d1 -> mf with 3/8 in tube, 3 m\n",
        |n, text| {
            line(
                text,
                format_args!(
                    "cable c{n} {{ section s {{ buried 1 km, resistance 0.1 psi/scfh/kft, usage 0.01 scfh }} }}\nair mf port {} -> c{n} with 3/8 in tube, 3 m",
                    n + 1
                ),
            );
        }
    ),
    one_file!(
        "things in a row",
        2_000,
        "office o { elevation 5 m }\ndryer v { delivers 10 psi, capacity 200 scfh }\nvalve v0 {}\nair v -> v0\n",
        |n, text| {
            line(
                text,
                format_args!("valve v{} {{}}\nair v{n} -> v{} with 3/8 in tube, 3 m", n + 1, n + 1),
            );
        }
    ),
    one_file!(
        "slips on one line",
        10_000,
        "block tb { ",
        |n, text| {
            let _ = write!(text, "q{n} 3 psi, ");
        },
        "}\n"
    ),
    one_file!("a long line", 50, BLOCK, |_, text| {
        let _ = write!(text, "{}wire tb pair 3 -> tq pair 3 ", " ".repeat(80_000));
    }),
    one_file!("a long text", 50, "", |n, text| {
        let _ = write!(
            text,
            "block tb{n} {{ pairs 10, title \"{}\", pairs 3 }} ",
            "x".repeat(80_000)
        );
    }),
    one_file!("comments", 100_000, BLOCK, |n, text| line(text, format_args!("# {n}"))),
    one_file!(
        "pasted characters",
        10_000,
        "block tb { pairs 10, note \u{201c}x\u{201d}\n",
        |_, text| {
            line(text, format_args!("note \u{201c}x\u{201d}"));
        },
        "}\n"
    ),
    one_file!("parts of parts", 5_000, "part block p0 { pairs 10 }\n", |n, text| {
        line(text, format_args!("part block p{} : p{n}", n + 1));
    }),
    one_file!(
        "things of one part",
        10_000,
        "part block p { pairs 10 }\n",
        |n, text| line(text, format_args!("block tb{n} : p"))
    ),
    Case {
        name: "files used in a chain",
        count: 2_500,
        known: None,
        files: used_in_a_chain,
    },
    Case {
        name: "files used in a ring",
        count: 500,
        known: None,
        files: used_in_a_ring,
    },
    Case {
        name: "files used by one",
        count: 2_500,
        known: None,
        files: used_by_one,
    },
    Case {
        name: "offices of one part",
        count: 500,
        known: None,
        files: offices_of_one_part,
    },
    Case {
        name: "assemblies of one drawing",
        count: 2_500,
        known: None,
        files: assemblies_of_one_drawing,
    },
    Case {
        name: "offices on one route",
        count: 500,
        known: None,
        files: offices_on_one_route,
    },
    Case {
        name: "offices in a chain of routes",
        count: 250,
        known: None,
        files: offices_in_a_chain_of_routes,
    },
    Case {
        name: "offices of one site",
        count: 1_000,
        known: None,
        files: offices_of_one_site,
    },
];

const LEAKS: &str = "the network is solved for a leak at each place";
const OFFICE: &str = "office o { elevation 5 m }\n";
const BLOCK: &str = "block tb { pairs 10 }\n";

fn line(text: &mut String, line: std::fmt::Arguments<'_>) {
    let _ = text.write_fmt(line);
    text.push('\n');
}

fn named(folder: &str, number: u32) -> String {
    format!("{folder}/f{number}.office")
}

fn used_in_a_chain(count: u32) -> Vec<(String, String)> {
    let part = |n: u32| format!("part block p{n} {{ pairs 10 }}\n");
    let chained = (0..count).map(|n| (named("parts", n), format!("use parts/f{}\n{}", n + 1, part(n))));
    let last = (named("parts", count), part(count));
    let office = (
        "x.office".to_owned(),
        format!("use parts/f0\noffice o {{ elevation 5 m }}\nblock tb : p{count}\n"),
    );
    chained.chain([last, office]).collect()
}

fn used_in_a_ring(count: u32) -> Vec<(String, String)> {
    let ring = (0..count).map(|n| {
        (
            named("parts", n),
            format!("use parts/f{}\npart block p{n} {{ pairs 10 }}\n", (n + 1) % count),
        )
    });
    ring.collect()
}

fn used_by_one(count: u32) -> Vec<(String, String)> {
    let mut office = String::new();
    let mut files = Vec::new();
    for n in 0..count {
        line(&mut office, format_args!("use parts/f{n}"));
        files.push((named("parts", n), format!("part block p{n} {{ pairs 10 }}\n")));
    }
    office.push_str(OFFICE);
    (0..count).for_each(|n| line(&mut office, format_args!("block tb{n} : p{n}")));
    files.push(("x.office".to_owned(), office));
    files
}

fn offices_of_one_part(count: u32) -> Vec<(String, String)> {
    let office = |n: u32| format!("use parts/p\noffice o{n} {{ elevation 5 m, site \"S{n}\" }}\nblock tb : p\n");
    let offices = (0..count).map(|n| (named("offices", n), office(n)));
    offices
        .chain([("parts/p.office".to_owned(), "part block p { pairs 10 }\n".to_owned())])
        .collect()
}

fn assemblies_of_one_drawing(count: u32) -> Vec<(String, String)> {
    let drawing = "assembly bracket {}\nregulator r { outlets 2 }\nmanifold m { outlets 3 }\nair r -> m with 3/8 in tube, 0.3 m\nspare m port 2\n";
    let mut office = String::from("use parts/bracket\noffice o { elevation 5 m }\n");
    (0..count).for_each(|n| line(&mut office, format_args!("assembly b{n} : bracket")));
    vec![
        ("parts/bracket.office".to_owned(), drawing.to_owned()),
        ("x.office".to_owned(), office),
    ]
}

fn route(path: &str, from: &str, to: &str) -> (String, String) {
    let text = format!(
        "route {path} {{ from {from}, to {to} }}\ncable {path}-c {{ pairs 50, section s {{ buried 2 km, resistance 0.1 psi/scfh/kft, usage 1 scfh }} }}\n"
    );
    (format!("routes/{path}.office"), text)
}

fn offices_on_one_route(count: u32) -> Vec<(String, String)> {
    let office = |n: u32| {
        format!(
            "use routes/trunk\noffice o{n} {{ elevation 5 m, site \"S{n}\" }}\ndryer d {{ delivers 10 psi, capacity 60 scfh }}\nair d -> trunk-c with 3/8 in tube, 3 m\n"
        )
    };
    let offices = (0..count).map(|n| (named("offices", n), office(n)));
    offices.chain([route("trunk", "offices/f0", "offices/f1")]).collect()
}

fn offices_in_a_chain_of_routes(count: u32) -> Vec<(String, String)> {
    let office = |n: u32| {
        format!(
            "use routes/r{n}\nuse routes/r{}\noffice o{n} {{ elevation 5 m, site \"S{n}\" }}\ndryer d {{ delivers 10 psi, capacity 60 scfh }}\nmanifold m {{ outlets 4 }}\nair d -> m with 3/8 in tube, 3 m\nair m port 1 -> r{}-c with 3/8 in tube, 3 m\nair r{n}-c -> m port 2\n",
            n + 1,
            n + 1
        )
    };
    let offices = (0..count).map(|n| (named("offices", n), office(n)));
    let routes = (0..=count).map(|n| {
        route(
            &format!("r{n}"),
            &format!("offices/f{}", (n + count - 1) % count),
            &format!("offices/f{}", n % count),
        )
    });
    offices.chain(routes).collect()
}

fn offices_of_one_site(count: u32) -> Vec<(String, String)> {
    (0..count)
        .map(|n| {
            (
                named("offices", n),
                "office o { elevation 5 m, site \"S\" }\n".to_owned(),
            )
        })
        .collect()
}
