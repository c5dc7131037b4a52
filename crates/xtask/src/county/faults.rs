//! Known faults: each changes one line of a clean office, and the results that it causes are known.

/// How a fault changes its line. Blanks in the line are first reduced to single spaces.
#[derive(Clone, Copy)]
enum Edit {
    /// Replaces one text by another.
    Replace(&'static str, &'static str),
    /// Replaces the words at these indices of the line.
    Words(&'static [(usize, &'static str)]),
    /// Appends a text to the line.
    Append(&'static str),
    /// Removes the line but keeps its comment.
    Remove,
    /// Replaces the site code by that of another office.
    OtherSite,
}

/// An expected result: its rule, the start of its line, and the words it marks. An empty line means the changed one.
type ExpectedResult = (&'static str, Line, &'static str);

/// The first line that starts with this text after the first one that starts with `within`.
#[derive(Clone, Copy)]
struct Line {
    within: &'static str,
    start: &'static str,
}

struct Fault {
    line: Line,
    edit: Edit,
    results: &'static [ExpectedResult],
}

/// Text of an office with a fault.
pub(super) struct FaultyText {
    pub text: String,
    /// Line, column and rule of each expected result.
    pub results: Vec<(usize, usize, &'static str)>,
}

const fn line(start: &'static str) -> Line {
    Line { within: "", start }
}

const fn within(within: &'static str, start: &'static str) -> Line {
    Line { within, start }
}

const HERE: Line = line("");

const FAULTS: &[Fault] = &[
    Fault {
        line: line("wire ps-101b ->"),
        edit: Edit::Words(&[(8, "2")]),
        results: &[
            ("pair-assigned-twice", HERE, "tb1 pair 2"),
            ("pair-not-said-spare", line("block tb1"), "tb1"),
        ],
    },
    Fault {
        line: line("wire ps-101b ->"),
        edit: Edit::Words(&[(12, "1")]),
        results: &[("input-assigned-twice", HERE, "m1 sensor 1")],
    },
    Fault {
        line: line("wire door ->"),
        edit: Edit::Words(&[(8, "sensor"), (9, "32")]),
        results: &[("signal-on-wrong-input", HERE, "m1 sensor 32")],
    },
    Fault {
        line: line("air d1 -> r1 -> f1"),
        edit: Edit::Replace("r1 -> f1", "f1 -> r1"),
        results: &[("regulator-after-sensor", HERE, "r1")],
    },
    Fault {
        line: line("ground m1 frame"),
        edit: Edit::Replace("6 awg", "12 awg"),
        results: &[("ground-conductor-small", HERE, "12 awg")],
    },
    Fault {
        line: line("power pdf1 fuse"),
        edit: Edit::Replace("5 A", "20 A"),
        results: &[("fuse-above-wire", HERE, "20 A")],
    },
    Fault {
        line: line("power pdf1 fuse"),
        edit: Edit::Replace("5 A", "2 A"),
        results: &[("fuse-below-load", HERE, "2 A")],
    },
    Fault {
        line: within("flow-sensor f1", "normal"),
        edit: Edit::Replace(" scfh", ""),
        results: &[("unit-missing", HERE, "*")],
    },
    Fault {
        line: within("flow-sensor f1", "normal"),
        edit: Edit::Replace("scfh", "sckh"),
        results: &[("unit-unknown", HERE, "sckh")],
    },
    Fault {
        line: line("wire ps-101b ->"),
        edit: Edit::Replace("ps-101b", "ps-101q"),
        results: &[("name-unknown", HERE, "ps-101q")],
    },
    Fault {
        line: line("ground d1 frame"),
        edit: Edit::Remove,
        results: &[("frame-ground-missing", line("dryer d1 :"), "d1")],
    },
    Fault {
        line: within("flow-sensor f1", "limit high-high"),
        edit: Edit::Words(&[(2, "180")]),
        results: &[("limit-outside-span", HERE, "limit")],
    },
    Fault {
        line: within("flow-sensor f1", "normal"),
        edit: Edit::Words(&[(1, "0.1")]),
        results: &[("normal-outside-middle", HERE, "normal")],
    },
    Fault {
        line: within("cable c101", "section s2"),
        edit: Edit::Words(&[(4, "9")]),
        results: &[("cable-end-unwatched", line("cable c101"), "c101")],
    },
    Fault {
        line: within("pressure-sensor ps-101b", "at"),
        edit: Edit::Words(&[(2, "60")]),
        results: &[("sensor-beyond-cable", HERE, "at")],
    },
    Fault {
        line: line("spare tb1 pair"),
        edit: Edit::Replace(".. 40", ".. 60"),
        results: &[("spare-in-use", HERE, "pair"), ("spare-out-of-range", HERE, "pair")],
    },
    Fault {
        line: line("wire p1 ->"),
        edit: Edit::Replace("white-orange", "red-orange"),
        results: &[("colours-contradict-code", HERE, "red-orange")],
    },
    Fault {
        line: line("regulator r1 :"),
        edit: Edit::Replace("psi }", "psi, relief 8 psi }"),
        results: &[("relief-misplaced", HERE, "relief")],
    },
    Fault {
        line: within("pressure-sensor ps-101b", "limit low"),
        edit: Edit::Words(&[(2, "0.9")]),
        results: &[("low-limit-under-minimum", HERE, "limit")],
    },
    Fault {
        line: within("pressure-sensor p1 :", "limit low"),
        edit: Edit::Replace("major ", ""),
        results: &[("limit-without-severity", HERE, "limit")],
    },
    Fault {
        line: within("pressure-sensor p1 :", "limit low"),
        edit: Edit::Replace("deadband 0.3", "deadband 0.1"),
        results: &[("limit-finer-than-step", HERE, "limit")],
    },
    Fault {
        line: within("cable c101", "rating"),
        edit: Edit::Replace("rating", "ratng"),
        results: &[("field-unknown", HERE, "ratng")],
    },
    Fault {
        line: line("block tb1 :"),
        edit: Edit::Replace("block-50", "blok-50"),
        results: &[("part-unknown", HERE, "blok-50")],
    },
    Fault {
        line: line("battery main :"),
        edit: Edit::Append(" { nominal 48 V }"),
        results: &[("polarity-wrong", HERE, "nominal")],
    },
    Fault {
        line: line("dryer d1 :"),
        edit: Edit::Append(" { capacity 4 scfh }"),
        results: &[("dryer-capacity-short", HERE, "capacity")],
    },
    Fault {
        line: line("site"),
        edit: Edit::OtherSite,
        results: &[("site-code-twice", HERE, "site")],
    },
    Fault {
        line: line("title"),
        edit: Edit::Remove,
        results: &[("title-missing", line("office"), "*")],
    },
    Fault {
        line: line("spare m1 contact"),
        edit: Edit::Replace(".. 16", ".. 18"),
        results: &[("spare-out-of-range", HERE, "contact")],
    },
];

/// Applies a fault to a clean, formatted office: fault `number`, or the next one that fits a line of the office.
pub(super) fn insert_fault(text: &str, number: u32, other_site: &str) -> FaultyText {
    let lines: Vec<String> = text.lines().map(plain).collect();
    let start = number as usize % FAULTS.len();
    let turn = FAULTS.iter().skip(start).chain(FAULTS.iter().take(start));
    turn.into_iter()
        .find_map(|slip| apply(slip, text, &lines, other_site))
        .unwrap_or_else(|| FaultyText {
            text: text.to_owned(),
            results: Vec::new(),
        })
}

/// The line with blanks reduced to single spaces.
fn plain(line: &str) -> String {
    line.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn find(lines: &[String], wanted: Line) -> Option<usize> {
    let from = lines.iter().position(|line| line.starts_with(wanted.within))?;
    let inner = lines
        .iter()
        .skip(from)
        .position(|line| line.starts_with(wanted.start))?;
    Some(from + inner)
}

fn apply(slip: &Fault, text: &str, lines: &[String], other_site: &str) -> Option<FaultyText> {
    let changed = find(lines, slip.line)?;
    let old = lines.get(changed)?;
    let new = match slip.edit {
        Edit::Replace(from, to) => old.contains(from).then(|| old.replacen(from, to, 1))?,
        Edit::Words(others) => {
            let mut words: Vec<&str> = old.split(' ').collect();
            for (at, other) in others {
                *words.get_mut(*at)? = other;
            }
            words.join(" ")
        }
        Edit::Append(more) => format!("{old}{more}"),
        Edit::Remove => "#".to_owned(),
        Edit::OtherSite => format!("site \"{other_site}\""),
    };
    let edited: Vec<&str> = text
        .lines()
        .enumerate()
        .map(|(at, line)| if at == changed { new.as_str() } else { line })
        .collect();
    let edited = drysheath_syntax::formatted(&(edited.join("\n") + "\n"));
    let results: Option<Vec<_>> = slip
        .results
        .iter()
        .map(|(rule, wanted, mark)| {
            let at = if wanted.start.is_empty() {
                changed
            } else {
                find(lines, *wanted)?
            };
            Some((at + 1, column(edited.lines().nth(at)?, mark)?, *rule))
        })
        .collect();
    Some(FaultyText {
        text: edited,
        results: results?,
    })
}

/// Column of the words of `mark`, ignoring the blanks between them; `*` is the second word of the line.
fn column(line: &str, mark: &str) -> Option<usize> {
    let starts = || {
        line.char_indices()
            .filter(|(at, _)| {
                line.get(..*at)
                    .is_none_or(|before| before.is_empty() || before.ends_with(' '))
            })
            .map(|(at, _)| at)
            .filter(|at| line.get(*at..).is_some_and(|rest| !rest.starts_with(' ')))
    };
    let at = if mark == "*" {
        starts().nth(1)
    } else {
        let is_word = |rest: &str| {
            let rest = plain(rest);
            let after = rest.strip_prefix(mark);
            after.is_some_and(|after| after.is_empty() || after.starts_with([' ', ',']))
        };
        starts().find(|at| line.get(*at..).is_some_and(is_word))
    };
    at.map(|at| at + 1)
}
