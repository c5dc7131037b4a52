//! Routes in an editor: what goes on in another office is shown in both.

use drysheath_fixture::{analysis, snapshot};
use drysheath_ide::{completions, definition, hover, references};

const ROUTE: &str = "route leased { from offices/oak, to offices/forkwater }
lead lp { pairs 2, loop 900 ohm }
";
const OAK: &str = "use routes/leased
office oak { stage planned }
contact door { healthy closed }
block tb { pairs 2 }
wire door -> tb pair 1 -> lp pair 1
";
const FORKWATER: &str = "use routes/leased
office forkwater { stage planned }
monitor m1 { sensors 2, contacts 2, loop-max 4000 ohm }
wire lp pair 1 -> m1 contact 1
";

#[test]
fn hover_follows_a_wire_into_the_other_office() {
    let county = snapshot(&[
        ("routes/leased", ROUTE),
        ("offices/oak", OAK),
        ("offices/forkwater", FORKWATER),
    ]);
    let shown = |file: &str, text: &str, at: &str| {
        let offset = (text.rfind(at).unwrap() + at.len() - 1) as u32;
        hover(&analysis(&county, file), offset).unwrap().text.plain()
    };
    // 900 ohm at 20 degC; IEC 60028, 0.00393 for each degree up to 60 degC.
    let of_loop = "loop of 1041 ohm at 60 degC (900 ohm at 20 degC), at most 4000 ohm for the monitor";
    let oak = shown("offices/oak", OAK, "lp pair 1");
    assert!(
        oak.contains("`door` → `tb pair 1` → `lp pair 1` → `forkwater/m1 contact 1`"),
        "{oak}"
    );
    assert!(oak.contains(of_loop), "{oak}");
    let forkwater = shown("offices/forkwater", FORKWATER, "contact 1");
    assert!(
        forkwater.contains("`oak/door` → `oak/tb pair 1` → `lp pair 1` → `m1 contact 1`"),
        "{forkwater}"
    );
    assert!(forkwater.contains(of_loop), "{forkwater}");
}

#[test]
fn every_place_of_a_broken_route_is_answered() {
    let heads = [
        "route leased { from offices/oak }\n",
        "route leased { }\n",
        "route leased\n",
        "route\n",
        "lead lp { pairs 2 }\n",
    ];
    for head in heads {
        for route in [format!("{head}lead lp {{ pairs 2, loop 900 ohm }}\n"), head.to_owned()] {
            let files = [
                ("routes/leased", route.as_str()),
                ("offices/oak", OAK),
                ("offices/forkwater", FORKWATER),
            ];
            let county = snapshot(&files);
            for (file, text) in files {
                let analysis = analysis(&county, file);
                let mut answers = 0;
                for offset in 0..=text.len() as u32 {
                    answers += usize::from(hover(&analysis, offset).is_some());
                    answers += completions(&county, &analysis, offset).len();
                    answers += usize::from(definition(&county, &analysis, offset).is_some());
                    answers += references(&county, &analysis, offset).len();
                }
                assert!(answers > 0, "{head:?} {file}");
            }
        }
    }
}
