//! Corrections of errors in the protocol's types.

use serde_json::Value;
use tower_lsp::jsonrpc::Request;

/// Renames `capabilities.workspace.diagnostics` of an `initialize` request to `diagnostic`, the wrong name that
/// `lsp_types` 0.94 expects.
pub(super) fn initialize(request: Request) -> Request {
    let (method, id, mut parameters) = request.into_parts();
    if let Some(parameters) = &mut parameters {
        rename_diagnostics(parameters);
    }
    let mut corrected = Request::build(method);
    if let Some(parameters) = parameters {
        corrected = corrected.params(parameters);
    }
    if let Some(id) = id {
        corrected = corrected.id(id);
    }
    corrected.finish()
}

fn rename_diagnostics(parameters: &mut Value) {
    let workspace = parameters.pointer_mut("/capabilities/workspace");
    if let Some(workspace) = workspace.and_then(Value::as_object_mut)
        && let Some(diagnostics) = workspace.remove("diagnostics")
    {
        workspace.insert("diagnostic".to_owned(), diagnostics);
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use serde_json::json;
    use tower_lsp::lsp_types::InitializeParams;

    use super::*;

    #[test]
    fn the_refresh_of_diagnostics_is_understood() {
        let request = Request::build("initialize")
            .params(json!({"capabilities": {"workspace": {"diagnostics": {"refreshSupport": true}}}}))
            .id(1)
            .finish();
        let corrected = initialize(request);
        assert_eq!(corrected.id(), Some(&1.into()));
        let parameters: InitializeParams = serde_json::from_value(corrected.params().unwrap().clone()).unwrap();
        let diagnostic = parameters.capabilities.workspace.unwrap().diagnostic.unwrap();
        assert_eq!(diagnostic.refresh_support, Some(true));
    }

    #[test]
    fn a_request_without_parameters_stays_as_it_is() {
        let request = Request::build("initialize").id(1).finish();
        assert_eq!(initialize(request.clone()), request);
    }
}
