//! Sizing of conductor and fuse of a load's feed: the smallest conductor that keeps the voltage at the end of discharge
//! and that the fuse protects, and the smallest fuse that carries the load.

use drysheath_engineering::feeds::most_resistance;
use drysheath_engineering::measure::{ConductorArea, Current, Length, Resistance, Temperature, Voltage};
use drysheath_engineering::protection::{WireLimit, feed_sizes, next_rating, required_rating, wire_limit};
use drysheath_engineering::units::{Dimension, Quantity};
use drysheath_engineering::wire;
use drysheath_office::kinds::{Key, Role};
use drysheath_office::{Fields, Link, ThingId};
use drysheath_prediction::{Conductor, Feed};

use super::{Amount, Bound, Choice, FigureFormatter, Input, Origin, SizedFigure, SizedQuantity, Sizing, stated};
use crate::lint::Inspection;
use crate::power::feeds::{all_draw_through, draws_through, nearer_zero, supply_fuse, total};

/// Unit of metric wire sizes.
const METRIC: &str = "mm2";

/// Sizes the conductor and the fuse of a load's feed. `None` where nothing feeds it.
pub(super) fn size(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, id: ThingId) -> Option<Sizing> {
    let (office, networks) = (inspection.office, inspection.networks);
    let mut links = networks.feeding(id).filter(|link| link.from.port.role == Role::Fuse);
    let link = links.next()?;
    let mut notes = Vec::new();
    if links.next().is_some() {
        notes.push("several runs feed it: these are the figures of the first, as if the others were dead".to_owned());
    }
    let fuse = fuse(inspection, formatter, link);
    let rating = fuse.choice.as_ref().map(|choice| choice.amount.si);
    let conductor = conductor(inspection, formatter, link, rating);
    notes.push(
        "the conductor goes with the fuse to take, and the fuse is held against the conductor that the file has now"
            .to_owned(),
    );
    notes.push(
        "this is advisory, local code governs: NEC 90.2 leaves out what a communications utility has under its own control; work on \
         battery is for qualified people with insulated tools and no jewellery"
            .to_owned(),
    );
    Some(Sizing {
        of: office.name(id).to_owned(),
        figures: vec![fuse, conductor],
        parts: Vec::new(),
        notes,
    })
}

fn published(what: impl Into<String>, shown: impl Into<String>, source: &'static str) -> Input {
    Input {
        what: what.into(),
        shown: shown.into(),
        from: Origin::Published(source),
    }
}

/// Sizes the fuse: at least 1.25 times the current through it, and no more than its conductor and the fuse before the
/// panel allow.
fn fuse(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, link: &Link) -> SizedFigure {
    let office = inspection.office;
    let mut figure = SizedFigure::new(SizedQuantity::Fuse, Dimension::Current);
    figure.stated = link
        .with
        .fuse
        .map(|fuse| (formatter.written(fuse.value), office.place(fuse.range)));
    match all_draw_through(inspection, link) {
        Ok(()) => figure.least.push(carries(inspection, formatter, link)),
        Err(lack) => figure
            .missing
            .push(format!("what it carries, without {}", lack.phrase())),
    }
    bears(inspection, formatter, link, &mut figure);
    if let Some(before) = supply_fuse(inspection, link.from.thing) {
        figure.most.push(Bound {
            amount: formatter.written(before.value),
            why: "the fuse before the panel must not open first".to_owned(),
            inputs: vec![stated(
                "fuse before the panel",
                before.value,
                office.place(before.range),
            )],
        });
    }
    figure.sort();
    figure.choice = chosen_fuse(formatter, &figure);
    figure
}

fn carries(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, link: &Link) -> Bound {
    let office = inspection.office;
    let draws = draws_through(inspection, link);
    let required = required_rating(total(&draws), Current::from_amperes(0.0));
    let mut inputs = Vec::new();
    for draw in &draws {
        let name = office.name(draw.load);
        if let Some((power, place)) = office.drawn_power(draw.load) {
            inputs.push(stated(format!("{name} draws"), power, place));
        }
        inputs.push(match office.thing(draw.load).range(Key::Window) {
            Some((.., place)) => stated(format!("low end of the window of {name}"), draw.voltage, place),
            None => formatter.computed(
                format!("battery of {name} at its end of discharge"),
                Dimension::Voltage,
                draw.voltage.si(),
            ),
        });
    }
    inputs.push(published(
        "part of a continuous load",
        "1.25",
        "NEC 210.20(A) and 215.3",
    ));
    formatter.bound(
        Dimension::Current,
        required.amperes(),
        "1.25 times what is drawn through it at the lowest voltage: a load that holds its power draws most there",
        inputs,
    )
}

/// Adds upper bounds from the pieces of the present conductor.
fn bears(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, link: &Link, figure: &mut SizedFigure) {
    let office = inspection.office;
    for piece in link.pieces(office) {
        let Some(gauge) = piece.gauge else {
            let lack = "the largest fuse that its conductor allows: the run does not state its size";
            figure.missing.push(lack.to_owned());
            continue;
        };
        let own = stated("its conductor now", gauge.value, office.place(gauge.range));
        let area = ConductorArea::of(gauge.value);
        let table = area.map(|area| wire_limit(area, gauge.value.unit.name == METRIC));
        let beyond = match (&table, piece.limit) {
            (Some((WireLimit::LessThan(_), table)), None) => Some(("thinner", table.name)),
            (Some((WireLimit::NotCovered, table)), None) => Some(("thicker", table.name)),
            _ => None,
        };
        if let Some((than, table)) = beyond {
            figure.missing.push(format!(
                "the largest fuse that its conductor of {} allows: it is {than} than those of {table}, so that the maker's limit decides",
                gauge.value
            ));
        }
        if let Some((WireLimit::AtMost(most) | WireLimit::LessThan(most), table)) = table {
            let row = published(
                "largest fuse",
                formatter.show(Dimension::Current, most.amperes()),
                table.name,
            );
            figure.most.push(formatter.bound(
                Dimension::Current,
                most.amperes(),
                "the largest fuse that the conductor in the file allows",
                vec![own.clone(), row],
            ));
        }
        if let Some(limit) = piece.limit {
            figure.most.push(Bound {
                amount: formatter.written(limit.value),
                why: "the largest fuse that the run states for its conductor".to_owned(),
                inputs: vec![own, stated("limit", limit.value, office.place(limit.range))],
            });
        }
    }
}

/// The stated fuse where it is within the bounds, else the smallest standard rating that carries the load.
fn chosen_fuse(formatter: &FigureFormatter<'_>, figure: &SizedFigure) -> Option<Choice> {
    let least = figure.at_least()?.amount.si;
    if let Some(kept) = figure.kept() {
        return Some(kept);
    }
    let rating = next_rating(Current::from_amperes(least))?.amperes();
    let why =
        "the smallest standard rating that carries the load [NEC 240.6(A), from memory; makers have others between]";
    Some(Choice {
        amount: formatter.amount(Dimension::Current, rating),
        why: if figure.holds(rating) {
            why.to_owned()
        } else {
            format!("{why}; it needs a thicker conductor than now, or a larger fuse before the panel")
        },
    })
}

/// Sizes the conductor for the voltage at the end of discharge, and for a fuse of `rating` amperes.
fn conductor(
    inspection: &Inspection<'_>,
    formatter: &FigureFormatter<'_>,
    link: &Link,
    rating: Option<f64>,
) -> SizedFigure {
    let mut figure = SizedFigure::new(SizedQuantity::Conductor, Dimension::WireSize);
    let pieces = link.pieces(inspection.office).filter_map(|piece| piece.gauge);
    let thinnest = pieces.min_by(|one, other| one.value.si().total_cmp(&other.value.si()));
    figure.stated = thinnest.map(|gauge| (formatter.written(gauge.value), inspection.office.place(gauge.range)));
    let is_metric = thinnest.is_some_and(|gauge| gauge.value.unit.name == METRIC);
    let is_kept = match keeps_voltage(inspection, formatter, link) {
        Ok(bound) => {
            figure.least.push(bound);
            true
        }
        Err(why) => {
            figure.missing.push(why);
            false
        }
    };
    let is_protected = match rating.map(|rating| protected(formatter, rating, is_metric)) {
        Some(Ok(bound)) => {
            figure.least.push(bound);
            true
        }
        Some(Err(why)) => {
            figure.missing.push(why);
            false
        }
        None => {
            figure.missing.push("the fuse, which it must bear".to_owned());
            false
        }
    };
    figure.sort();
    if is_kept && is_protected {
        figure.choice = chosen_size(&figure, is_metric);
    }
    figure
}

fn wire_amount(area: ConductorArea) -> Amount {
    Amount {
        si: area.square_metres(),
        shown: drysheath_engineering::trade_size::trade_size(area),
    }
}

/// Least area of the load's own conductor that leaves the low end of its window at the end of discharge. The drop that
/// other loads cause in shared conductors is kept as computed.
fn keeps_voltage(inspection: &Inspection<'_>, formatter: &FigureFormatter<'_>, link: &Link) -> Result<Bound, String> {
    let (office, id) = (inspection.office, link.to.thing);
    let (one, other, window) = office.thing(id).range(Key::Window).ok_or("its `window`")?;
    let least = nearer_zero(one, other);
    let feed = inspection.prediction.feeds.iter().find(|feed| feed.load == id).ok_or(
        "what is lost on the way: its `draws`, the battery and its `working` voltage, or size and length of a conductor before it",
    )?;
    let own: Vec<&Conductor> = feed.conductors.iter().filter(|part| part.to == id).collect();
    let needed = Needed::of(feed, &own, least)?;
    let draws = feed
        .draws
        .place
        .map(|place| stated("draws", feed.draws.quantity, place));
    let mut inputs = vec![
        formatter.computed(
            "battery at its end of discharge, less what other loads lose on the way",
            Dimension::Voltage,
            needed.from,
        ),
        stated("low end of the window", least, window),
    ];
    inputs.extend(draws);
    inputs.extend([
        formatter.computed(
            "so the most resistance of its own conductor, there and back",
            Dimension::Resistance,
            needed.most.ohms(),
        ),
        formatter.computed("length", Dimension::Length, needed.length.metres()),
        formatter.computed("wires at", Dimension::Temperature, feed.temperature.quantity.si()),
        published("copper", "1/58 ohm mm2/m at 20 degC", "IEC 60028"),
    ]);
    Ok(Bound {
        amount: wire_amount(needed.area),
        why: "it keeps the voltage of the load at the end of discharge".to_owned(),
        inputs,
    })
}

/// Requirements of a load's own conductor.
struct Needed {
    /// Voltage of the battery less the drop that other loads cause, with its sign, V.
    from: f64,
    /// Highest resistance, there and back.
    most: Resistance,
    /// Length of the run; supply and return together have twice that.
    length: Length,
    area: ConductorArea,
}

impl Needed {
    fn of(feed: &Feed, own: &[&Conductor], least: Quantity) -> Result<Self, &'static str> {
        let receiving_end = feed
            .receiving_end
            .as_ref()
            .map_err(|_| "the voltage at the load: it collapses, so take a far thicker conductor first")?;
        let resistance: Resistance = own.iter().map(|part| part.resistance).sum();
        let before = feed.total.ohms() - resistance.ohms();
        // The drop caused by this load follows its current; that caused by others stays.
        let source = receiving_end.voltage.volts().abs() + (receiving_end.current * feed.total).volts();
        let least = Voltage::of(least).ok_or("its `window`")?;
        let most = most_resistance(Voltage::from_volts(source), feed.power(), least)
            .map(|most| Resistance::from_ohms(most.ohms() - before))
            .filter(|most| most.ohms() > 0.0)
            .ok_or(
                "any conductor that would do: where its own conductor begins, the voltage is under its window already",
            )?;
        let length = Length::from_metres(own.iter().map(|part| part.length.si()).sum());
        let temperature = Temperature::of(feed.temperature.quantity).ok_or("the temperature of the wires")?;
        let square_metre = wire::resistance(ConductorArea::from_square_metres(1.0), length * 2.0, temperature);
        Ok(Self {
            from: source.copysign(receiving_end.voltage.volts()),
            most,
            length,
            area: ConductorArea::from_square_metres(square_metre.ohms() / most.ohms()),
        })
    }
}

/// The smallest size that the fuse protects.
fn protected(formatter: &FigureFormatter<'_>, rating: f64, is_metric: bool) -> Result<Bound, String> {
    let shown = formatter.show(Dimension::Current, rating);
    let (size, most, table) = feed_sizes(is_metric)
        .find(|(_, most, _)| rating <= most.amperes())
        .ok_or_else(|| format!("a conductor for a fuse of {shown}: the tables end before that"))?;
    Ok(Bound {
        amount: wire_amount(size.area()),
        why: format!("a fuse of {shown} protects it"),
        inputs: vec![published(
            format!("largest fuse for {size}"),
            formatter.show(Dimension::Current, most.amperes()),
            table.name,
        )],
    })
}

/// The stated size if it is within all bounds, otherwise the smallest that is.
fn chosen_size(figure: &SizedFigure, is_metric: bool) -> Option<Choice> {
    if let Some(kept) = figure.kept() {
        return Some(kept);
    }
    let mut sizes = feed_sizes(is_metric).map(|(size, ..)| size);
    let size = sizes.find(|size| figure.holds(size.area().square_metres()))?;
    Some(Choice {
        amount: Amount {
            si: size.area().square_metres(),
            shown: size.to_string(),
        },
        why: "the smallest size that keeps the voltage and that the fuse protects".to_owned(),
    })
}
