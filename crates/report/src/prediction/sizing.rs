//! The sizing of one thing, as text and as a record.

use std::fmt::Write as _;
use std::sync::Arc;

use drysheath_engineering::units::Quantity;
use drysheath_office::Part;
use drysheath_rules::Inspection;
use drysheath_rules::sizing::{Amount, Bound, Input, Origin, PartOffer, SizedFigure, Sizing, SizingAnswer, size};
use drysheath_text::safe::terminal;

use super::compose::OfficeView;
use super::record::{SizeBoundRecord, SizeFigureRecord, SizeInputRecord, SizePartRecord, SizingRecord, si_unit};

/// Limit of bounds shown on either side, tightest first.
const SHOWN: usize = 6;

impl OfficeView<'_> {
    /// Sizes the thing, signal, limit or tube of this name; `parts` are the candidate parts. `loss` is the largest
    /// permitted pressure loss of a pipe or tube.
    pub fn size(&self, parts: &[Arc<Part>], name: &str, loss: Option<Quantity>) -> SizingAnswer {
        let inspection = Inspection::new(self.office, self.networks, self.prediction, self.settings);
        size(&inspection, parts, name, loss)
    }

    /// Formats a sizing as text.
    pub fn sizing_text(&self, sizing: &Sizing) -> String {
        let mut out = String::new();
        for figure in &sizing.figures {
            self.size_figure(&sizing.of, figure, &mut out);
        }
        if !sizing.parts.is_empty() {
            let _ = writeln!(out, "what could be taken for {}", sizing.of);
        }
        for part in &sizing.parts {
            self.size_part(part, &mut out);
        }
        for note in &sizing.notes {
            let _ = writeln!(out, "note: {note}");
        }
        self.tell_unread(&mut out);
        terminal(&out).into_owned()
    }

    fn size_figure(&self, of: &str, figure: &SizedFigure, out: &mut String) {
        let _ = writeln!(out, "{of}: {}, {}", figure.what.words(), bracket(figure));
        if let Some((amount, place)) = &figure.stated {
            let verdict = if figure.least.is_empty() && figure.most.is_empty() {
                ""
            } else if figure.holds(amount.si) {
                ", within the bounds"
            } else {
                ", outside the bounds"
            };
            let _ = writeln!(out, "  now {} ({}){verdict}", amount.shown, self.said_at(*place));
        }
        for (word, bounds) in [("least", &figure.least), ("most", &figure.most)] {
            for bound in bounds.iter().take(SHOWN) {
                let _ = writeln!(out, "  {word} {}: {}", bound.amount.shown, bound.why);
                for input in &bound.inputs {
                    let _ = writeln!(out, "    {} {} ({})", input.what, input.shown, self.origin(&input.from));
                }
            }
            if bounds.len() > SHOWN {
                let _ = writeln!(out, "  {} more that bind less: see --output json", bounds.len() - SHOWN);
            }
        }
        if let Some(choice) = &figure.choice {
            let _ = writeln!(out, "  take {}: {}", choice.amount.shown, choice.why);
        }
        for missing in &figure.missing {
            let _ = writeln!(out, "  not known: {missing}");
        }
    }

    fn size_part(&self, part: &PartOffer, out: &mut String) {
        let verdict = match (part.is_chosen, part.fits) {
            (true, _) => "take this one",
            (_, Some(true)) => "fits",
            (_, Some(false)) => "does not fit",
            (_, None) => "not known whether it fits",
        };
        let at = self.said_at(part.place);
        let _ = writeln!(out, "  {} ({at}), {}: {verdict}", part.name, part.figures);
        for (word, remarks) in [
            ("for", &part.merits),
            ("against", &part.faults),
            ("not stated", &part.missing),
        ] {
            for remark in remarks {
                let _ = writeln!(out, "    {word}: {remark}");
            }
        }
    }

    fn said_at(&self, place: drysheath_text::Place) -> String {
        let place = self.place(place);
        format!("{}:{}", place.file, place.line)
    }

    fn origin(&self, origin: &Origin) -> String {
        match origin {
            Origin::Stated(place) => self.said_at(*place),
            Origin::Computed => "computed; --how explains it".to_owned(),
            Origin::OfState => "computed; --when shows such a state".to_owned(),
            Origin::Practice(Some(file), _) => format!("setting in {file}"),
            Origin::Practice(None, source) => format!("setting, by default; {source}"),
            Origin::Published(source) => (*source).to_owned(),
            Origin::Asked => "as asked for".to_owned(),
        }
    }

    /// The sizing as a record.
    pub fn sizing_record(&self, sizing: &Sizing) -> SizingRecord {
        SizingRecord {
            of: sizing.of.clone(),
            figures: sizing
                .figures
                .iter()
                .map(|figure| self.size_figure_record(figure))
                .collect(),
            parts: sizing.parts.iter().map(|part| self.size_part_record(part)).collect(),
            notes: sizing.notes.clone(),
        }
    }

    fn size_figure_record(&self, figure: &SizedFigure) -> SizeFigureRecord {
        let bounds = |bounds: &[Bound]| bounds.iter().map(|bound| self.size_bound_record(bound)).collect();
        let si = |amount: &Amount| amount.si;
        SizeFigureRecord {
            what: figure.what.words().to_owned(),
            unit: si_unit(figure.dimension).to_owned(),
            stated: figure.stated.as_ref().map(|(amount, _)| amount.si),
            place: figure.stated.as_ref().map(|(_, place)| self.place(*place)),
            at_least: figure.at_least().map(|bound| bound.amount.si),
            at_most: figure.at_most().map(|bound| bound.amount.si),
            take: figure.choice.as_ref().map(|choice| si(&choice.amount)),
            because: figure.choice.as_ref().map(|choice| choice.why.clone()),
            least: bounds(&figure.least),
            most: bounds(&figure.most),
            missing: figure.missing.clone(),
        }
    }

    fn size_bound_record(&self, bound: &Bound) -> SizeBoundRecord {
        SizeBoundRecord {
            value: bound.amount.si,
            because: bound.why.clone(),
            inputs: bound.inputs.iter().map(|input| self.size_input_record(input)).collect(),
        }
    }

    fn size_input_record(&self, input: &Input) -> SizeInputRecord {
        let (place, source) = match &input.from {
            Origin::Stated(place) => (Some(self.place(*place)), None),
            Origin::Computed | Origin::OfState | Origin::Asked => (None, None),
            Origin::Practice(file, source) => (None, Some(file.clone().unwrap_or_else(|| source.clone()))),
            Origin::Published(source) => (None, Some((*source).to_owned())),
        };
        SizeInputRecord {
            what: input.what.clone(),
            said: input.shown.clone(),
            place,
            source,
        }
    }

    fn size_part_record(&self, part: &PartOffer) -> SizePartRecord {
        SizePartRecord {
            name: part.name.clone(),
            place: self.place(part.place),
            figures: part.figures.clone(),
            fits: part.fits,
            take: part.is_chosen,
            merits: part.merits.clone(),
            faults: part.faults.clone(),
            missing: part.missing.clone(),
        }
    }
}

/// Formats the bounds of a figure: "between 10.08 psi and 30.25 psi", or what is known of them.
fn bracket(figure: &SizedFigure) -> String {
    match (figure.at_least(), figure.at_most()) {
        (Some(least), Some(most)) if figure.is_empty() => format!(
            "nothing is right: at least {} and at most {}",
            least.amount.shown, most.amount.shown
        ),
        (Some(least), Some(most)) if least.amount.shown == most.amount.shown => format!("only {}", least.amount.shown),
        (Some(least), Some(most)) => format!("between {} and {}", least.amount.shown, most.amount.shown),
        (Some(least), None) => format!("at least {}", least.amount.shown),
        (None, Some(most)) => format!("at most {}", most.amount.shown),
        (None, None) => "nothing bounds it".to_owned(),
    }
}
