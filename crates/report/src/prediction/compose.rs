//! Builds the record of an office from its prediction.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use drysheath_engineering::compressor::Cycle;
use drysheath_engineering::measure::{Flow, Length, Pressure, Time};
use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::Dimension;
use drysheath_engineering::water;
use drysheath_explanation::{Explainer, SectionAir, SignalReading};
use drysheath_office::kinds::{Key, Kind, KindId};
use drysheath_office::{Fields, GivenQuantity, MergedOffice, Networks, Office, Signal, ThingId};
use drysheath_prediction::{AirLocation, Line, Prediction};
use drysheath_rules::Settings;
use drysheath_text::{Encoding, LineIndex, Place as FilePlace};
use drysheath_workspace::Analysis;

use super::record::{
    BottleRecord, ConditionsRecord, DryerRecord, FailureRecord, LeftOutRecord, LimitRecord, LineRecord, LossRecord,
    MissingRecord, OfficeRecord, PlaceRecord, PointRecord, RegulatorRecord, SaturationRecord, SectionRecord,
    SensorRecord, TubeRecord, UnreadRecord,
};
use crate::Files;

/// An office and its computed figures.
#[derive(Clone, Copy)]
pub struct OfficeView<'v> {
    /// The office that is shown.
    pub office: &'v Office,
    /// The connections of its things.
    pub networks: &'v Networks,
    /// Computed figures of the office.
    pub prediction: &'v Prediction,
    /// The settings of its repository.
    pub settings: &'v Settings,
    /// The files that places refer to.
    pub files: &'v dyn Files,
}

impl<'v> OfficeView<'v> {
    /// View of an analysis, without the things left out because of their stage.
    pub fn of(analysis: &'v Analysis, files: &'v dyn Files) -> Self {
        Self {
            office: analysis.present(),
            networks: &analysis.networks,
            prediction: &analysis.prediction,
            settings: &analysis.settings,
            files,
        }
    }

    /// The office including everything in other offices that its wires lead to.
    pub(crate) fn merged(&self) -> MergedOffice<'v> {
        self.networks.merged(self.office)
    }
}

impl OfficeView<'_> {
    /// The record of the office.
    pub fn record(&self) -> OfficeRecord {
        let office = self.office;
        let itself = office.itself.map(|id| office.thing(id));
        OfficeRecord {
            office: office.itself.map_or("", |id| office.name(id)).to_owned(),
            title: itself.and_then(|office| office.text(Key::Title)).map(str::to_owned),
            file: self.files.path(office.file).to_owned(),
            titles: self.titles(),
            conditions: self.conditions(),
            left_out: self.left_out(),
            missing: self.missing(),
            unread: self.unread(),
            failures: self.failures(),
            dryers: office.of_kind(KindId::Dryer).map(|(id, _)| self.dryer(id)).collect(),
            bottles: office.of_kind(KindId::Bottle).map(|(id, _)| self.bottle(id)).collect(),
            hold_up: self.hold_up(),
            regulators: office
                .of_kind(KindId::Regulator)
                .map(|(id, _)| self.regulator(id))
                .collect(),
            tubes: self.tubes(),
            losses: self.losses(),
            lines: self.prediction.air.lines().iter().map(|line| self.line(line)).collect(),
            sensors: self.sensors(),
            detection: self.detection(),
            feeds: self.feeds(),
            loops: self.loops(),
            controls: self.controls(),
            states: self.states(),
            sizing: None,
            fit: None,
        }
    }

    fn titles(&self) -> BTreeMap<String, String> {
        let office = self.office;
        let things = office.things().filter(|(_, thing)| !thing.is(KindId::Office));
        things
            .filter_map(|(id, _)| Some((office.name(id).to_owned(), office.title(id)?.to_owned())))
            .collect()
    }

    /// Converts a place to file and line.
    pub fn place(&self, place: FilePlace) -> PlaceRecord {
        let place = self.office.written(place);
        let text = self.files.text(place.file);
        let position = LineIndex::new(text).position(text, place.range.start, Encoding::Utf32);
        PlaceRecord {
            file: self.files.path(place.file).to_owned(),
            line: position.line + 1,
            column: position.column + 1,
        }
    }

    /// An explainer for its figures.
    pub(crate) fn explainer(&self) -> Explainer<'_> {
        Explainer {
            office: self.office,
            networks: self.networks,
            prediction: self.prediction,
            minimums: self.settings.minimums(),
        }
    }

    fn conditions(&self) -> ConditionsRecord {
        let conditions = self.explainer().conditions();
        ConditionsRecord {
            elevation_m: si(conditions.elevation),
            ambient_absolute_pa: conditions.ambient.pascals(),
            air_temperature_k: conditions.temperature.kelvins(),
            coldest_k: si(conditions.coldest),
            standard_absolute_pa: self.office.standard.standard.pressure().pascals(),
            standard_temperature_k: self.office.standard.standard.temperature().kelvins(),
        }
    }

    /// The things left out because of their stage.
    pub(crate) fn left_out(&self) -> Vec<LeftOutRecord> {
        let things = self.office.excluded.things.iter();
        things
            .map(|(id, stage)| LeftOutRecord {
                name: self.office.name(*id).to_owned(),
                stage: stage.word().to_owned(),
            })
            .collect()
    }

    fn missing(&self) -> Vec<MissingRecord> {
        let gaps = self.prediction.missing.iter();
        gaps.map(|gap| MissingRecord {
            what: gap.what.clone(),
            unlocks: gap.needed_for.phrase().to_owned(),
            place: self.place(self.office.place(gap.range)),
        })
        .collect()
    }

    /// The problems that left text of the office's file unread.
    pub(super) fn unread(&self) -> Vec<UnreadRecord> {
        let problems = self.office.problems.iter();
        let unread = problems.filter(|problem| problem.id.leaves_unread());
        unread
            .map(|problem| UnreadRecord {
                why: problem.message.clone(),
                place: self.place(self.office.place(problem.range)),
            })
            .collect()
    }

    /// Adds notes on text of the office's file that was not read.
    pub(super) fn tell_unread(&self, out: &mut String) {
        for unread in self.unread() {
            let (file, line) = (unread.place.file, unread.place.line);
            let _ = writeln!(
                out,
                "not read: {file}:{line}: {}; nothing of it counts here",
                unread.why
            );
        }
    }

    fn failures(&self) -> Vec<FailureRecord> {
        let failures = self.prediction.air.failures();
        failures
            .map(|failure| FailureRecord {
                why: failure.why.to_string(),
                on: failure.at.map(|(line, _)| self.office.name(line.thing).to_owned()),
            })
            .collect()
    }

    fn dryer(&self, id: ThingId) -> DryerRecord {
        let facts = self.explainer().dryer(id);
        let saturation = facts.saturation().zip(facts.dryness);
        DryerRecord {
            name: self.office.name(id).to_owned(),
            delivers_pa: self.gauge(facts.delivers),
            flow_m3_per_s: facts.flow.map(Flow::cubic_metres_per_second),
            capacity_m3_per_s: facts
                .rating
                .map(|rating| rating.capacity.flow.cubic_metres_per_second()),
            asked_m3_per_s: facts.asked.map(Flow::cubic_metres_per_second),
            duty: facts.duty(),
            on_s: facts.cycle.map(|cycle| cycle.on.seconds()),
            off_s: facts.cycle.map(|cycle| cycle.off.seconds()),
            starts_per_hour: facts.cycle.map(Cycle::starts_an_hour),
            backed_up: facts.backed_up,
            saturation: saturation.map(|(point, dryness)| SaturationRecord {
                temperature_k: point.temperature.kelvins(),
                name: point.name().to_owned(),
                at_absolute_pa: dryness.at.pascals(),
            }),
        }
    }

    fn bottle(&self, id: ThingId) -> BottleRecord {
        let facts = self.explainer().bottle(id);
        BottleRecord {
            name: self.office.name(id).to_owned(),
            delivers_pa: self.gauge(facts.delivers),
            flow_m3_per_s: facts.flow.map(Flow::cubic_metres_per_second),
            usage_m3_per_s: facts.usage.map(Flow::cubic_metres_per_second),
            lasts_s: facts.lasts.map(Time::seconds),
        }
    }

    fn gauge(&self, given: Option<GivenQuantity>) -> Option<f64> {
        given.map(|given| self.office.gauge_pascals(given.quantity))
    }

    fn regulator(&self, id: ThingId) -> RegulatorRecord {
        let facts = self.explainer().regulator(id);
        RegulatorRecord {
            name: self.office.name(id).to_owned(),
            set_pa: self.gauge(facts.set),
            inlet_pa: facts.operating_point.inlet.map(Pressure::pascals),
            outlet_pa: facts.operating_point.outlet.map(Pressure::pascals),
            outlet_least_pa: facts.bounds.and_then(|bounds| bounds.least).map(Pressure::pascals),
            outlet_most_pa: facts.bounds.map(|bounds| bounds.most.pascals()),
            flow_m3_per_s: facts.operating_point.flow.map(Flow::cubic_metres_per_second),
            state: facts.state.map(|state| regulator_word(state).to_owned()),
        }
    }

    fn tubes(&self) -> Vec<TubeRecord> {
        let pieces = self.networks.air.pieces(self.office);
        pieces
            .zip(self.prediction.air.runs())
            .filter_map(|((link, with), state)| {
                let state = state?;
                Some(TubeRecord {
                    from: self.office.name(link.from.thing).to_owned(),
                    to: self.office.name(link.to.thing).to_owned(),
                    piece: link
                        .piece_number(self.office, with)
                        .and_then(|(piece, _)| u32::try_from(piece).ok()),
                    flow_m3_per_s: state.flow.cubic_metres_per_second(),
                    drop_pa: state.drop.pascals(),
                    reynolds: state.reynolds?,
                    regime: state.regime?.name().to_owned(),
                })
            })
            .collect()
    }

    fn losses(&self) -> Vec<LossRecord> {
        let lossy = self.office.things().filter(|(_, thing)| thing.has(Key::Loss));
        lossy
            .map(|(id, thing)| {
                let state = self.prediction.air.through(id);
                let stated = thing.losses().map(|(loss, _)| loss.flow.si());
                LossRecord {
                    name: self.office.name(id).to_owned(),
                    flow_m3_per_s: state.map(|state| state.flow.cubic_metres_per_second()),
                    loses_pa: state.map(|state| state.drop.pascals()),
                    stated_to_m3_per_s: stated.reduce(f64::max),
                }
            })
            .collect()
    }

    fn line(&self, line: &Line) -> LineRecord {
        LineRecord {
            name: self.office.name(line.thing).to_owned(),
            branch: line.branch_name(self.office).map(str::to_owned),
            length_m: line.length(),
            sections: self
                .explainer()
                .sections(line)
                .map(|section| section_record(&section))
                .collect(),
            points: self.points(line),
        }
    }

    pub(super) fn points(&self, line: &Line) -> Vec<PointRecord> {
        let practice = self.settings.minimums();
        let points = self.prediction.profile(self.office, self.networks, &practice, line);
        let figure = |pressure: Option<Pressure>| pressure.map(Pressure::pascals);
        points
            .into_iter()
            .map(|point| PointRecord {
                distance_m: point.metres,
                pressure_pa: figure(point.pressure),
                flow_m3_per_s: point.flow.map(Flow::cubic_metres_per_second),
                minimum_pa: figure(point.minimum),
                margin_pa: figure(point.margin()),
                what: point.what,
            })
            .collect()
    }

    fn sensors(&self) -> Vec<SensorRecord> {
        let explainer = self.explainer();
        // A contact of a dryer or of bottles that switches at a pressure counts as well.
        let signals = self.office.things().flat_map(|(id, _)| self.office.signals(id));
        let is_read = |signal: &Signal<'_>| {
            let kind = self.office.thing(signal.thing).kind;
            kind.is_some_and(Kind::is_sensor) || signal.fields.has(Key::Limit)
        };
        let readings = signals.filter(is_read).filter_map(|signal| explainer.reading(signal));
        readings.filter_map(|reading| self.sensor(&reading)).collect()
    }

    fn sensor(&self, reading: &SignalReading<'_>) -> Option<SensorRecord> {
        let (office, signal) = (self.office, &reading.signal);
        let unit = match reading.dimension {
            Dimension::Pressure => "Pa",
            Dimension::Flow => "m3/s",
            Dimension::Humidity => "1",
            Dimension::Temperature => "K",
            _ => return None,
        };
        let limits = reading.limits.iter().map(|limit| LimitRecord {
            level: limit.limit.level.word().to_owned(),
            value: limit.bound.value,
            severity: limit.limit.severity.map(|severity| <&str>::from(severity).to_owned()),
            margin: reading.margin(limit),
        });
        let place = self.prediction.air.location_of(office, self.networks, signal.thing);
        let (line, distance_m) = match place {
            Some(AirLocation::OnLine(line, metres)) => (Some(line), Some(metres)),
            _ => (None, None),
        };
        Some(SensorRecord {
            name: office.name(signal.thing).to_owned(),
            signal: signal.called(),
            unit: unit.to_owned(),
            line: line.map(|line| office.name(line.thing).to_owned()),
            branch: line.and_then(|line| line.branch_name(office)).map(str::to_owned),
            distance_m,
            expected: reading.expected,
            span: reading
                .span
                .map(|(bottom, top, _)| [office.figure(bottom), office.figure(top)]),
            span_part: reading.span_part(),
            step: reading.step(),
            error: signal.fields.quantity(Key::Error).map(|(error, _)| error.si()),
            limits: limits.collect(),
        })
    }
}

fn si(given: Option<GivenQuantity>) -> Option<f64> {
    given.map(|given| given.quantity.si())
}

fn section_record(section: &SectionAir<'_>) -> SectionRecord {
    let (reach, stated) = (section.section, section.stated);
    let depth = stated.and_then(|(_, fields)| Length::of(fields.quantity(Key::Depth)?.0));
    SectionRecord {
        name: stated.map(|(name, _)| name.to_owned()),
        from_m: reach.from,
        to_m: reach.to,
        surroundings: reach.surroundings.map(|key| key.word().to_owned()),
        minimum_pa: section.bound.map(|bound| bound.value),
        water_head_pa: depth.map(|depth| water::head(depth, water::CONVENTIONAL).pascals()),
        lowest_pa: section.lowest.map(|(_, pressure)| pressure.pascals()),
        lowest_at_m: section.lowest.map(|(metres, _)| metres),
    }
}

/// The state of a regulator in tables and records.
pub(super) fn regulator_word(state: RegulatorState) -> &'static str {
    match state {
        RegulatorState::Regulating => "regulating",
        RegulatorState::OutOfRegulation => "out of regulation",
        RegulatorState::ClosedByBackPressure => "shut by back pressure",
    }
}
