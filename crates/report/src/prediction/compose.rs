//! From an office and what was computed of it to the record of it.

use drysheath_engineering::measure::{Flow, Length, Pressure, Temperature};
use drysheath_engineering::moisture::SaturationPoint;
use drysheath_engineering::network::RegulatorState;
use drysheath_engineering::units::Dimension;
use drysheath_engineering::water;
use drysheath_office::kinds::{Key, KindId};
use drysheath_office::{Fields, Networks, Office, Signal, ThingId};
use drysheath_prediction::{AirLocation, Dryness, Prediction, Route, RouteSection, capacity, minimum_pressure};
use drysheath_rules::Settings;
use drysheath_text::{Encoding, LineIndex, Place as FilePlace};

use super::record::{
    ConditionsRecord, DryerRecord, FailureRecord, LimitRecord, LineRecord, MissingRecord, OfficeRecord, PlaceRecord,
    PointRecord, RegulatorRecord, SaturationRecord, SectionRecord, SensorRecord, TubeRecord,
};
use crate::Files;

/// An office and all that is computed of it.
#[derive(Clone, Copy)]
pub struct View<'v> {
    /// The office.
    pub office: &'v Office,
    /// How its things are joined.
    pub networks: &'v Networks,
    /// What is computed.
    pub prediction: &'v Prediction,
    /// The repository's settings.
    pub settings: &'v Settings,
    /// The files that places lie in.
    pub files: &'v dyn Files,
}

impl View<'_> {
    /// The record of the office.
    pub fn record(&self) -> OfficeRecord {
        let office = self.office;
        let itself = office.itself.map(|id| office.thing(id));
        OfficeRecord {
            office: office.itself.map_or("", |id| office.name(id)).to_owned(),
            title: itself.and_then(|office| office.text(Key::Title)).map(str::to_owned),
            file: self.files.path(office.file).to_owned(),
            conditions: self.conditions(),
            missing: self.missing(),
            failures: self.failures(),
            dryers: office.of_kind(KindId::Dryer).map(|(id, _)| self.dryer(id)).collect(),
            regulators: office
                .of_kind(KindId::Regulator)
                .map(|(id, _)| self.regulator(id))
                .collect(),
            tubes: self.tubes(),
            lines: self
                .prediction
                .air
                .routes()
                .iter()
                .map(|line| self.line(line))
                .collect(),
            sensors: self.sensors(),
            feeds: self.feeds(),
            loops: self.loops(),
        }
    }

    /// A place as somebody would look it up.
    pub fn place(&self, place: FilePlace) -> PlaceRecord {
        let text = self.files.text(place.file);
        let position = LineIndex::new(text).position(text, place.range.start, Encoding::Utf32);
        PlaceRecord {
            file: self.files.path(place.file).to_owned(),
            line: position.line + 1,
            column: position.column + 1,
        }
    }

    fn conditions(&self) -> ConditionsRecord {
        let figure = |key| {
            let (quantity, _) = self.office.thing(self.office.itself?).quantity(key)?;
            Some(quantity.si())
        };
        let conditions = self.prediction.air.conditions;
        ConditionsRecord {
            elevation_m: figure(Key::Elevation),
            ambient_absolute_pa: conditions.ambient.pascals(),
            air_temperature_k: conditions.temperature.kelvins(),
            coldest_k: figure(Key::Coldest),
        }
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

    fn failures(&self) -> Vec<FailureRecord> {
        let failures = self.prediction.air.failures();
        failures
            .map(|failure| FailureRecord {
                why: failure.why.to_string(),
                on: failure
                    .at
                    .and_then(|at| at.thing(self.networks))
                    .map(|id| self.office.name(id).to_owned()),
            })
            .collect()
    }

    fn dryer(&self, id: ThingId) -> DryerRecord {
        let office = self.office;
        let supply = self.prediction.air.supply(id);
        // A dryer takes no air; the solver lets a trace into one that is backed up.
        let given = |flow: f64| if flow > 0.0 { flow } else { 0.0 };
        let flow = supply.map(|supply| given(supply.flow.cubic_metres_per_second()));
        let capacity = capacity(office, id).map(|capacity| capacity.flow.cubic_metres_per_second());
        let saturation = Dryness::of(office, id).and_then(|dryness| {
            let point = dryness.saturation_point(dryness.at)?;
            Some(saturation(point, dryness.at.pascals()))
        });
        DryerRecord {
            name: office.name(id).to_owned(),
            delivers_pa: self.pressure(id, Key::Delivers),
            flow_m3_per_s: flow,
            capacity_m3_per_s: capacity,
            duty: flow.zip(capacity).map(|(flow, capacity)| flow / capacity),
            backed_up: supply.is_some_and(|supply| supply.backed_up),
            saturation,
        }
    }

    fn pressure(&self, id: ThingId, key: Key) -> Option<f64> {
        let given = self.office.given(id, key)?;
        Some(self.office.gauge_pascals(given.quantity))
    }

    fn regulator(&self, id: ThingId) -> RegulatorRecord {
        let air = &self.prediction.air;
        let state = air.through(id);
        let word = |state| match state {
            RegulatorState::Regulating => "regulating",
            RegulatorState::OutOfRegulation => "out of regulation",
            RegulatorState::ClosedByBackPressure => "shut by back pressure",
        };
        RegulatorRecord {
            name: self.office.name(id).to_owned(),
            set_pa: self.pressure(id, Key::Set),
            inlet_pa: air.inlet(id).map(drysheath_engineering::measure::Pressure::pascals),
            outlet_pa: air.outlet(id).map(drysheath_engineering::measure::Pressure::pascals),
            flow_m3_per_s: state.map(|state| state.flow.cubic_metres_per_second()),
            state: state
                .and_then(|state| state.regulator)
                .map(|state| word(state).to_owned()),
        }
    }

    fn tubes(&self) -> Vec<TubeRecord> {
        let links = self.networks.air.iter().zip(self.prediction.air.runs());
        links
            .filter_map(|(link, state)| {
                let state = state?;
                Some(TubeRecord {
                    from: self.office.name(link.from.thing).to_owned(),
                    to: self.office.name(link.to.thing).to_owned(),
                    flow_m3_per_s: state.flow.cubic_metres_per_second(),
                    drop_pa: state.drop.pascals(),
                    reynolds: state.reynolds?,
                    regime: state.regime?.name().to_owned(),
                })
            })
            .collect()
    }

    fn line(&self, line: &Route) -> LineRecord {
        LineRecord {
            name: self.office.name(line.thing).to_owned(),
            branch: line.branch_name(self.office).map(str::to_owned),
            length_m: line.length(),
            sections: line.sections.iter().map(|reach| self.section(line, reach)).collect(),
            points: self.points(line),
        }
    }

    fn minimum(&self, line: &Route, reach: &RouteSection) -> Option<f64> {
        let minimum = minimum_pressure(self.office, &self.settings.minimums(), line, reach)?;
        Some(self.office.figure(minimum.quantity))
    }

    fn section(&self, line: &Route, reach: &RouteSection) -> SectionRecord {
        let said = line
            .section(self.office, reach)
            .filter(|_| reach.surroundings.is_some());
        let depth = said.and_then(|(_, fields)| Length::of(fields.quantity(Key::Depth)?.0));
        let lowest = self.prediction.air.lowest(line, reach);
        SectionRecord {
            name: said.map(|(name, _)| name.to_owned()),
            from_m: reach.from,
            to_m: reach.to,
            surroundings: reach.surroundings.map(|key| key.word().to_owned()),
            minimum_pa: self.minimum(line, reach),
            water_head_pa: depth.map(|depth| water::head(depth, water::CONVENTIONAL).pascals()),
            lowest_pa: lowest.map(|(_, pressure)| pressure.pascals()),
            lowest_at_m: lowest.map(|(metres, _)| metres),
        }
    }

    fn points(&self, line: &Route) -> Vec<PointRecord> {
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
        let sensors = self
            .office
            .things()
            .filter(|(_, thing)| thing.kind.is_some_and(drysheath_office::kinds::Kind::is_sensor));
        sensors
            .flat_map(|(id, _)| self.office.signals(id))
            .filter_map(|signal| self.sensor(&signal))
            .collect()
    }

    fn sensor(&self, signal: &Signal<'_>) -> Option<SensorRecord> {
        let office = self.office;
        let unit = match signal.dimension? {
            Dimension::Pressure => "Pa",
            Dimension::Flow => "m3/s",
            Dimension::Humidity => "1",
            Dimension::Temperature => "K",
            _ => return None,
        };
        let expected = self
            .prediction
            .expected_reading(office, self.networks, signal.thing, signal.dimension?);
        let expected = expected.map(drysheath_prediction::ExpectedReading::figure);
        let span = signal
            .fields
            .range(Key::Span)
            .map(|(from, to, _)| [office.figure(from), office.figure(to)]);
        let limits = signal.fields.limits().map(|(limit, _)| {
            let value = office.figure(limit.value);
            let side = if limit.level.is_low() { 1.0 } else { -1.0 };
            LimitRecord {
                level: limit.level.word().to_owned(),
                value,
                severity: limit.severity.map(|severity| <&str>::from(severity).to_owned()),
                margin: expected.map(|expected| side * (expected - value)),
            }
        });
        let place = self.prediction.air.place_of(office, self.networks, signal.thing);
        let (line, distance_m) = match place {
            Some(AirLocation::OnRoute(line, metres)) => (Some(line), Some(metres)),
            _ => (None, None),
        };
        Some(SensorRecord {
            name: office.name(signal.thing).to_owned(),
            signal: signal.port.word.to_owned(),
            unit: unit.to_owned(),
            line: line.map(|line| office.name(line.thing).to_owned()),
            branch: line.and_then(|line| line.branch_name(office)).map(str::to_owned),
            distance_m,
            expected,
            span,
            span_part: expected
                .zip(span)
                .map(|(expected, [bottom, top])| (expected - bottom) / (top - bottom))
                .filter(|part| part.is_finite()),
            error: signal.fields.quantity(Key::Error).map(|(error, _)| error.si()),
            limits: limits.collect(),
        })
    }
}

fn saturation(point: SaturationPoint, at_absolute_pa: f64) -> SaturationRecord {
    SaturationRecord {
        temperature_k: Temperature::kelvins(point.temperature),
        name: point.name().to_owned(),
        at_absolute_pa,
    }
}
