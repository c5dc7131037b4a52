//! Numbers with letters, control outputs, leads and connectors, on the office of the damage tests that has them.

use std::fmt::Write as _;
use std::sync::Arc;

use drysheath_office::{NoParts, lower};
use drysheath_rules::{RuleId, Settings, example, lint};
use drysheath_syntax::parse;
use drysheath_text::{FileId, apply};
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
            field-twice: A1 .. A4 are in two ranges of `positions`
        positions B1 .. B6 => positions B1-B6
            value-unreadable: `B1-B6` does not make a range
        pdf fuse B3 => pdf B3
            port-unknown: `fuse` is missing before `B3`
    "#]]
    .assert_eq(&told);
}

#[test]
fn control_outputs() {
    const WIRE: &str = "wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m";
    let told = told(&[
        &[("spare m1 output rest\n", "")],
        &[("m1 output 1", "m1 output 5")],
        &[("30 m\nspare", "300 m\nspare")],
        &[("current-max 0.2 A", "current-max 2 A"), ("needs 20 V", "needs 3 V")],
        &[(WIRE, "")],
        &[(WIRE, ""), ("spare tb", "spare d1 control start\nspare tb")],
        &[(WIRE, "wire d1 control start -> tb pair B3 -> m1 output 1")],
        &[(
            WIRE,
            "wire m1 output 1 -> tb pair B3 -> m1 contact 2\nspare d1 control start",
        )],
        &[(WIRE, "wire m1 output 1 -> tb pair B3\nspare d1 control start")],
        &[(WIRE, "wire tb pair B3 -> d1 control start")],
        &[
            (
                "wire j2 pair 1 -> tb pair A2 -> m1 sensor S2",
                "wire j2 pair 1 -> tb pair A2 -> d1 control start",
            ),
            (WIRE, ""),
            ("S4 .. S8", "S2\nspare m1 sensor S4 .. S8"),
        ],
        &[
            (
                "wire j2 pair 1 -> tb pair A2 -> m1 sensor S2",
                "wire m1 output 2 -> tb pair A2 -> j2 pair 1",
            ),
            ("S4 .. S8", "S2\nspare m1 sensor S4 .. S8"),
        ],
        &[(
            WIRE,
            "wire m1 output 1 -> tb pair B3 -> d1 control start\nwire m1 output 1 -> tb pair B4",
        )],
        &[(
            WIRE,
            "wire m1 output 1 -> tb pair B3 -> d1 control start\nwire m1 output 2 -> tb pair B4 -> d1 control start",
        )],
        &[(WIRE, "wire m1 output 1 -> tb pair A2 -> d1 control start")],
        &[(WIRE, "wire m1 output 1 -> tb pair B3 -> d1 control stop")],
        &[(WIRE, "wire m1 output 1 -> tb pair B3 -> d1 contact humidity")],
    ]);
    expect![[r#"
        spare m1 output rest => 
            input-not-said-spare: control outputs 2 to 4 of `m1` are unused and not said to be spare
        m1 output 1 => m1 output 5
            input-out-of-range: `m1` has 4 control outputs, so there is no control output 5
        30 m
        spare => 300 m
        spare
            control-voltage-short: control `start` of `d1` gets 12.9 V and needs 20 V: control output 1 of `m1` gives 24 V, and 0.2 A drops the rest over 55.5 ohm there and back at 45 degC
        current-max 0.2 A => current-max 2 A
        needs 20 V => needs 3 V
            output-overloaded: control `start` of `d1` draws 2 A, and control output 1 of `m1` may carry 1 A
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => 
            device-without-pair: no wire leads to the control `start` of dryer `d1`
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => 
        spare tb => spare d1 control start
        spare tb
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire d1 control start -> tb pair B3 -> m1 output 1
            run-backwards: this run is written backwards
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire m1 output 1 -> tb pair B3 -> m1 contact 2
        spare d1 control start
            output-not-to-control: `m1 output 1` is wired to `m1 contact 2`, which is an input: an output goes to a control
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire m1 output 1 -> tb pair B3
        spare d1 control start
            dead-end: `m1 output 1` gets as far as pair B3 of `tb` and reaches no control
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire tb pair B3 -> d1 control start
            input-without-signal: no output is wired to control `start` of `d1`
        wire j2 pair 1 -> tb pair A2 -> m1 sensor S2 => wire j2 pair 1 -> tb pair A2 -> d1 control start
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => 
        S4 .. S8 => S2
        spare m1 sensor S4 .. S8
            output-not-to-control: control `start` of `d1` is wired to `p1`, which is a sensor: an output of the monitor goes there
        wire j2 pair 1 -> tb pair A2 -> m1 sensor S2 => wire m1 output 2 -> tb pair A2 -> j2 pair 1
        S4 .. S8 => S2
        spare m1 sensor S4 .. S8
            output-not-to-control: `m1 output 2` is wired to `p1`, which is a sensor: an output goes to a control
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire m1 output 1 -> tb pair B3 -> d1 control start
        wire m1 output 1 -> tb pair B4
            signal-wired-twice: `m1 output 1` is wired already
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire m1 output 1 -> tb pair B3 -> d1 control start
        wire m1 output 2 -> tb pair B4 -> d1 control start
            input-assigned-twice: control `start` of `d1` already has a wire
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire m1 output 1 -> tb pair A2 -> d1 control start
            pair-assigned-twice: pair A2 of `tb` already carries another signal
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire m1 output 1 -> tb pair B3 -> d1 control stop
            name-unknown: `d1` has no control named `stop`
        wire m1 output 1 -> tb pair B3 -> d1 control start with 24 awg, 30 m => wire m1 output 1 -> tb pair B3 -> d1 contact humidity
            signal-wired-twice: `d1 contact humidity` is wired already
    "#]].assert_eq(&told);
}

#[test]
fn leads() {
    let told = told(&[
        &[("pair 2 black-white", "pair 2 black-red")],
        &[("pair 4 black-blue", "pair 5 black-blue")],
        &[("pair 4 black-blue", "pair 3 black-blue")],
        &[("pair 4 black-blue", "pair 4 black-ble")],
        &[(", length 8 m", "")],
        &[("gauge 22 awg, length 8 m", "length 8 m")],
        &[("lead l2 { pairs 1, loop 900 ohm }", "lead l2 { pairs 1 }")],
        &[("loop 900 ohm", "loop 9 kohm")],
        &[("l1 pair 1 black-red", "l1 pair 1 black-white")],
        &[("l1 pair 1 black-red", "l1 pair 1 red-black")],
        &[("l1 pair 1 black-red", "l1 pair 5")],
        &[("spare l1 pair rest\n", "")],
        &[(
            "wire f1 flow -> l1 pair 1 black-red -> tb",
            "wire f1 flow -> l1 pair 1\nwire tb",
        )],
    ]);
    expect![[r#"
        pair 2 black-white => pair 2 black-red
            lead-colours-twice: pairs 1 and 2 of `l1` are both black-red
        pair 4 black-blue => pair 5 black-blue
            pair-out-of-range: `l1` has 4 pairs, and its record says the colours of pair 5
        pair 4 black-blue => pair 3 black-blue
            field-twice: `pair 3` is given twice
        pair 4 black-blue => pair 4 black-ble
            value-unreadable: `pair` expects two colours after the number, tip and ring, such as `black-red`, found `black-ble`
        , length 8 m => 
            field-missing: lead `l1` has no `length`
        gauge 22 awg, length 8 m => length 8 m
            field-missing: lead `l1` has no `gauge`
        lead l2 { pairs 1, loop 900 ohm } => lead l2 { pairs 1 }
            field-missing: lead `l2` has no `gauge` or `length`
        loop 900 ohm => loop 9 kohm
            loop-over-limit: the loop of `p1` has 9884 ohm there and back at 45 degC, and `m1` works over at most 4000 ohm
        l1 pair 1 black-red => l1 pair 1 black-white
            colours-contradict-code: pair 1 of `l1` is black-red by its record, not black-white
        l1 pair 1 black-red => l1 pair 1 red-black
        l1 pair 1 black-red => l1 pair 5
            pair-out-of-range: `l1` has 4 pairs, so there is no pair 5
        spare l1 pair rest => 
            pair-not-said-spare: pairs 2 to 4 of `l1` are unused and not said to be spare
        wire f1 flow -> l1 pair 1 black-red -> tb => wire f1 flow -> l1 pair 1
        wire tb
            dead-end: `f1 flow` gets as far as pair 1 of `l1` and reaches no input of a monitor
    "#]].assert_eq(&told);
}

#[test]
fn connectors() {
    let told = told(&[
        &[("4, connector socket", "4, connector plug")],
        &[("4, connector socket", "25, connector socket")],
        &[
            ("4, connector socket", "50, connector socket"),
            ("j1 -> j2", "j1 -> j2 connector 3"),
        ],
        &[("{ pairs 4, connector socket", "{ pairs 4")],
        &[("wire j1 -> j2", "wire j1 -> j2 pair 2")],
        &[(
            "wire j1 -> j2",
            "wire j1 -> j2\nblock j3 { pairs 4, connector plug }\nwire j3 -> j2\nspare j3 pair rest",
        )],
        &[("wire j1 -> j2\n", "")],
        &[("wire j1 -> j2", "wire j2 -> j1")],
        &[("j2 pair 1 -> tb", "j2 pair 2 -> tb")],
        &[("spare j2 pair rest\n", "")],
        &[("wire j1 -> j2", "wire j1 -> tb")],
        &[("wire j1 -> j2\nwire j2 pair 1", "wire j1 -> j2")],
    ]);
    expect![[r#"
        4, connector socket => 4, connector plug
            connectors-do-not-mate: `j1` and `j2` are both plugs
        4, connector socket => 25, connector socket
            connectors-do-not-mate: `j1` has 4 pairs and `j2` 25, so they do not mate
        4, connector socket => 50, connector socket
        j1 -> j2 => j1 -> j2 connector 3
            connectors-do-not-mate: `j2` has no connector 3: each is of 25 pairs
        { pairs 4, connector socket => { pairs 4
            port-unknown: the port of `j2` is missing: `pair`
        wire j1 -> j2 => wire j1 -> j2 pair 2
            port-unknown: `j1` is a connector with all its pairs, and mates with one other connector
        wire j1 -> j2 => wire j1 -> j2
        block j3 { pairs 4, connector plug }
        wire j3 -> j2
        spare j3 pair rest
            connector-mated-twice: the connector `j2` is mated already
        wire j1 -> j2 => 
            dead-end: `p1` gets as far as pair 1 of `j1` and reaches no input of a monitor
        wire j1 -> j2 => wire j2 -> j1
        j2 pair 1 -> tb => j2 pair 2 -> tb
            dead-end: `p1` gets as far as pair 1 of `j2` and reaches no input of a monitor
        spare j2 pair rest => 
            pair-not-said-spare: pairs 2 to 4 of `j2` are unused and not said to be spare
        wire j1 -> j2 => wire j1 -> tb
            port-unknown: the port of `tb` is missing: `pair`
        wire j1 -> j2
        wire j2 pair 1 => wire j1 -> j2
            port-unknown: the port of `j2` is missing: `pair` or `connector`
    "#]]
    .assert_eq(&told);
}

#[test]
fn draws_and_links() {
    let told = told(&[
        &[("draws 0.9 A", "draws 9 A")],
        &[("draws 0.9 A", "draws 900 A")],
        &[("draws 0.9 A", "draws 0.9 V")],
        &[("link dialled \"555-0149\"", "link lan \"192.0.2.15\"")],
    ]);
    expect![[r#"
        draws 0.9 A => draws 9 A
            fuse-below-load: `m1` draws 364.5 W at -40.5 V, which is 9 A; the 3 A fuse is less than 1.25 times that
        draws 0.9 A => draws 900 A
            value-implausible: `draws` expects 0.001 A to 100 A; found `900 A`
        draws 0.9 A => draws 0.9 V
            unit-wrong-dimension: `draws` expects a power, found `0.9 V`, a voltage
        link dialled "555-0149" => link lan "192.0.2.15"
            field-twice: `link lan` is given twice
    "#]]
    .assert_eq(&told);
}

#[test]
fn a_slip_in_a_spare_line_leaves_the_rest_checked() {
    let told = told(&[
        &[
            ("spare tb pair rest", "spare tb pairs rest"),
            ("loop 900 ohm", "loop 9 kohm"),
        ],
        &[
            ("spare pdf fuse rest", "spare pdf fuse rset"),
            ("with 3 A, 14 awg, 6 m", "with 1 A, 14 awg, 6 m"),
        ],
        &[
            ("spare mf port 3 .. 4", "spare mf port 3 .. "),
            ("set 10 psi", "set 28 psi"),
        ],
    ]);
    expect![[r#"
        spare tb pair rest => spare tb pairs rest
        loop 900 ohm => loop 9 kohm
            loop-over-limit: the loop of `p1` has 9884 ohm there and back at 45 degC, and `m1` works over at most 4000 ohm
            port-unknown: a block has no port `pairs`
        spare pdf fuse rest => spare pdf fuse rset
        with 3 A, 14 awg, 6 m => with 1 A, 14 awg, 6 m
            fuse-below-load: `m1` draws 36.45 W at -40.5 V, which is 0.9 A; the 1 A fuse is less than 1.25 times that
            value-unreadable: unknown word `rset`
        spare mf port 3 .. 4 => spare mf port 3 ..
        set 10 psi => set 28 psi
            regulator-set-above-rating: `r1` is set to 28 psi, and `c101` downstream is rated for 20 psi
            value-unreadable: `port` expects a whole number from 1 to 100000 after it
    "#]].assert_eq(&told);
}

/// The text after the one fix of the first result of a change, which leaves nothing to say.
fn mended(changes: &[(&str, &str)]) -> String {
    let text = with(changes);
    let office = lower(FileId(0), "office", Arc::from(text.as_str()), &parse(&text), &NoParts);
    let findings = lint(&office, &Settings::default(), example::TODAY);
    let fix = findings.iter().find_map(|finding| finding.fix.as_ref());
    let mended = apply(&text, &fix.unwrap_or_else(|| panic!("{findings:?}")).edits).unwrap();
    assert_eq!(results(&mended), [""; 0], "{mended}");
    mended
}

#[test]
fn connectors_are_mended_where_one_edit_is_certain() {
    let halves = ("{ pairs 4, connector socket", "{ pairs 4");
    let numbered = ("wire j1 -> j2", "wire j1 -> j2 connector 1");
    assert!(mended(&[halves, numbered]).contains("block j2 { pairs 4, connector socket }"));
    // Of a block of 50 pairs one connector is taken, and the other is meant.
    let more = "block j3 { pairs 50, connector socket }\nblock j4 { pairs 25, connector plug }\nblock j5 { pairs 25, connector plug }
wire j4 -> j3 connector 1\nwire j5 -> j3\nspare j3 pair rest\nspare j4 pair rest\nspare j5 pair rest\nlead l2";
    assert!(mended(&[("lead l2", more)]).contains("wire j5 -> j3 connector 2\n"));
    let twice = ("wire j1 -> j2\n", "wire j1 -> j2\nwire j2 -> j1\n");
    assert!(!mended(&[twice]).contains("wire j2 -> j1"));
    // Two plugs: either may be the wrong one.
    let text = with(&[("4, connector socket", "4, connector plug")]);
    let office = lower(FileId(0), "office", Arc::from(text.as_str()), &parse(&text), &NoParts);
    let findings = lint(&office, &Settings::default(), example::TODAY);
    assert!(findings.iter().all(|finding| finding.fix.is_none()));
}

mod said_of_pairs {
    use drysheath_rules::{Settings, example};

    /// The rules that report something of the example office with these statements.
    fn rules(statements: &str) -> Vec<&'static str> {
        let outcome = example::check(statements, &Settings::default());
        let mut rules: Vec<_> = outcome.findings.iter().map(|finding| finding.rule.name()).collect();
        rules.sort_unstable();
        rules
    }

    #[test]
    fn a_third_wire_is_an_error_until_it_is_said() {
        let tap = "block new-tb { pairs 25 }\nwire tb pair 3 -> new-tb pair 3\nspare new-tb pair rest\n";
        assert_eq!(rules(tap), ["pair-assigned-twice"]);
        let said = format!("tapped tb pair 3 because \"cut-over\"\n{tap}");
        assert_eq!(rules(&said), [""; 0]);
        // A second input on the pair disturbs the first.
        let two = "tapped tb pair 3 because \"cut-over\"\nwire tb pair 3 -> m1 sensor 5\n# without spare m1 sensor\nspare m1 sensor 4\nspare m1 sensor 6 .. 8\n";
        assert_eq!(rules(two), ["pair-assigned-twice"]);
    }

    #[test]
    fn all_pairs_of_a_bunch_are_in_use() {
        let bunch = "bunched c101 pair 37 .. 38 because \"loop too long\"\n";
        assert_eq!(rules(bunch), ["spare-in-use"]);
        let spare = "# without spare c101 pair 38\nspare c101 pair 39 .. 50\n";
        assert_eq!(rules(&format!("{bunch}{spare}")), [""; 0]);
    }

    #[test]
    fn a_contact_that_shares_an_input_is_accepted_on_any_of_them() {
        let shared = "contact door { healthy closed, reports \"door\" }\nwire door -> tb pair 4\n";
        assert_eq!(rules(shared), ["contacts-share-input"]);
        for on in ["d1", "door"] {
            let accepted =
                format!("{shared}accept contacts-share-input on {on} because \"one alarm\" until 2026-12-31\n");
            let outcome = example::check(&accepted, &Settings::default());
            let open: Vec<_> = outcome
                .findings
                .iter()
                .filter(|finding| finding.accepted.is_none())
                .map(|finding| finding.rule.name())
                .collect();
            assert_eq!(open, [""; 0], "{on}");
        }
    }

    #[test]
    fn one_slip_has_one_result() {
        let mains = "monitor m1 { sensors 8, contacts 4, supply mains, window -40.5 V .. -57 V, wants-filtered yes, ground-size 6 awg, \
                     loop-max 4000 ohm, link lan \"192.0.2.11\" }\n";
        assert_eq!(rules(mains), ["supply-stated-twice"]);
    }

    #[test]
    fn statements_that_people_try_are_told_what_to_write() {
        let help = |statements: &str| {
            let outcome = example::check(statements, &Settings::default());
            let told = outcome.findings.iter().filter_map(|finding| finding.help.clone());
            told.collect::<Vec<_>>().join("\n")
        };
        for (statements, part) in [
            ("# without spare mf\nspare mf rest\n", "write `port rest`"),
            (
                "# without spare tb pair 5\nreserved tb pair 5 to \"fire alarm\"\nspare tb pair 6 .. 25\n",
                "write `assigned tb pair 5 to \"fire alarm\"`",
            ),
            (
                "# without spare tb pair 5\nreserve tb pair 5 for \"fire alarm\"\nspare tb pair 6 .. 25\n",
                "write `assigned tb pair 5 to \"fire alarm\"`",
            ),
            (
                "# without spare tb pair 5\nreserved tb pair 5 .. 25\n",
                "`spare tb pair 5 .. 25` if it is free",
            ),
            (
                "# without spare pdf\nassigned pdf fuse 2 to \"lamp\"\nspare pdf fuse 3 .. 10\n",
                "is `spare`",
            ),
            (
                "reading 2026-05-12 c101 decay 8 psi .. 7 psi over 12 min 30 s\n",
                "write `750 s`",
            ),
            ("reading 2026\u{2212}05\u{2212}12 ps1 7.6 psi\n", "write `2026-05-12`"),
            ("block tb\u{2212}2 { pairs 25 }\n", "write `tb-2`"),
        ] {
            let told = help(statements);
            assert!(told.contains(part), "{statements}: {told}");
        }
    }
}
