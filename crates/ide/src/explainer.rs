use drysheath_explanation::Explainer;
use drysheath_workspace::Analysis;

/// An explainer for the figures of an analysis.
pub(crate) fn explainer(analysis: &Analysis) -> Explainer<'_> {
    Explainer {
        office: analysis.present(),
        networks: &analysis.networks,
        prediction: &analysis.prediction,
        minimums: analysis.settings.minimums(),
    }
}
