//! Numbers with letters, control outputs, leads and connectors, on the office of the damage tests that has them.

use std::fmt::Write as _;
use std::sync::Arc;

use drysheath_office::{NoParts, lower};
use drysheath_rules::{RuleId, Settings, example, lint};
use drysheath_syntax::parse;
use drysheath_text::FileId;
use expect_test::expect;

const OFFICE: &str = include_str!("damage/wiring.office");

/// The results of a text, each as rule and message.
fn results(text: &str) -> Vec<String> {
    let office = lower(FileId(0), "office", Arc::from(text), &parse(text), &NoParts);
    let findings = lint(&office, &Settings::default(), example::TODAY).into_iter();
    findings
        .filter(|finding| finding.rule.id != RuleId::ChecksLeftOut)
        .map(|finding| format!("{}: {}", finding.rule.name(), finding.message))
        .collect()
}

/// The office with some of its text replaced.
fn with(changes: &[(&str, &str)]) -> String {
    let mut text = OFFICE.to_owned();
    for (before, after) in changes {
        assert!(text.contains(before), "{before}");
        text = text.replacen(before, after, 1);
    }
    text
}

/// What each change gives, one after the other: the changes, and below them the results.
fn told(cases: &[&[(&str, &str)]]) -> String {
    let mut told = String::new();
    for changes in cases {
        for (before, after) in *changes {
            let _ = writeln!(told, "{} => {}", before.trim_end(), after.trim_end());
        }
        for result in results(&with(changes)) {
            let _ = writeln!(told, "    {result}");
        }
    }
    told
}

#[test]
fn the_office_is_clean() {
    assert_eq!(results(OFFICE), [""; 0]);
}

#[test]
fn numbers_with_letters() {
    let told = told(&[
        &[("fuse B3 ->", "fuse C3 ->")],
        &[("fuse B3 ->", "fuse 3 ->")],
        &[("fuse B3 ->", "fuse A3 ->")],
        &[("fuse A1 .. A4", "fuse A1 .. A5")],
        &[("fuse A1 .. A4", "fuse A1 .. B4")],
        &[("fuse A1 .. A4", "fuse A1 .. 4")],
        &[("spare pdf fuse rest\n", "")],
        &[("pair A2", "pair A12")],
        &[("pair A2", "pair A1")],
        &[("sensor S2", "sensor S1")],
        &[("sensor S2", "sensor S9")],
        &[("S4 .. S8", "S5 .. S8")],
        &[("pair B1 white-blue", "pair B1 white-orange")],
        &[("positions B1 .. B6", "positions A1 .. A6")],
        &[("positions B1 .. B6", "positions B1-B6")],
        &[("pdf fuse B3", "pdf B3")],
    ]);
    expect![[r#"
        fuse B3 -> => fuse C3 ->
            fuse-position-out-of-range: `pdf` has no fuse C3: its positions are A1 .. A4 and B1 .. B6
        fuse B3 -> => fuse 3 ->
            fuse-position-out-of-range: `pdf` has no fuse 3: its positions are A1 .. A4 and B1 .. B6
        fuse B3 -> => fuse A3 ->
            spare-in-use: fuse position A3 of `pdf` is said to be spare, and is used
        fuse A1 .. A4 => fuse A1 .. A5
            spare-out-of-range: `pdf` has fuse positions A1 to A4 and B1 to B6, and no fuse position A5
        fuse A1 .. A4 => fuse A1 .. B4
            value-unreadable: `A1 .. B4` leads from one row into another: both its ends need the same letters
        fuse A1 .. A4 => fuse A1 .. 4
            value-unreadable: `A1 .. 4` leads from one row into another: both its ends need the same letters
        spare pdf fuse rest => 
            fuse-not-said-spare: fuse positions B1 to B2 of `pdf` are unused and not said to be spare
            fuse-not-said-spare: fuse positions B4 to B6 of `pdf` are unused and not said to be spare
        pair A2 => pair A12
            pair-out-of-range: `tb` has pairs A1 to A10 and B1 to B10, so there is no pair A12
        pair A2 => pair A1
            pair-assigned-twice: pair A1 of `tb` already carries another signal
        sensor S2 => sensor S1
            input-assigned-twice: sensor input S1 of `m1` already has a wire
        sensor S2 => sensor S9
            input-out-of-range: `m1` has sensor inputs S1 to S8, so there is no sensor input S9
        S4 .. S8 => S5 .. S8
            input-not-said-spare: sensor input S4 of `m1` is unused and not said to be spare
        pair B1 white-blue => pair B1 white-orange
            colours-contradict-code: pair B1 of `tb` is white-blue by the colour code, not white-orange
        positions B1 .. B6 => positions A1 .. A6
            field-twice: `positions` is given twice
        positions B1 .. B6 => positions B1-B6
            value-unreadable: `B1-B6` does not make a range
        pdf fuse B3 => pdf B3
            port-unknown: `fuse` is missing before `B3`
    "#]]
    .assert_eq(&told);
}
