use drysheath_explanation::Explainer;
use drysheath_workspace::Analysis;

/// Explains how the figures of an analysis are computed.
pub(crate) fn explainer(analysis: &Analysis) -> Explainer<'_> {
    Explainer {
        office: analysis.present(),
        networks: &analysis.networks,
        prediction: &analysis.prediction,
        minimums: analysis.settings.minimums(),
    }
}
