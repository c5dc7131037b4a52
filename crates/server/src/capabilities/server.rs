use drysheath_text::Encoding;
use tower_lsp::lsp_types as lsp;

use super::Capabilities;
use crate::features::{actions, lenses, tokens};

/// Capabilities that the server announces to a client.
pub(crate) fn server_capabilities(client: &Capabilities) -> lsp::ServerCapabilities {
    lsp::ServerCapabilities {
        position_encoding: Some(encoding_kind(client.encoding)),
        text_document_sync: Some(lsp::TextDocumentSyncCapability::Options(synchronization())),
        hover_provider: Some(lsp::HoverProviderCapability::Simple(true)),
        completion_provider: Some(lsp::CompletionOptions {
            trigger_characters: Some([" ", ":", "{", ">", "\""].map(str::to_owned).to_vec()),
            ..lsp::CompletionOptions::default()
        }),
        definition_provider: Some(lsp::OneOf::Left(true)),
        type_definition_provider: Some(lsp::TypeDefinitionProviderCapability::Simple(true)),
        references_provider: Some(lsp::OneOf::Left(true)),
        document_highlight_provider: Some(lsp::OneOf::Left(true)),
        document_symbol_provider: Some(lsp::OneOf::Left(true)),
        workspace_symbol_provider: Some(lsp::OneOf::Left(true)),
        code_action_provider: Some(lsp::CodeActionProviderCapability::Options(lsp::CodeActionOptions {
            code_action_kinds: Some(actions::kinds()),
            ..lsp::CodeActionOptions::default()
        })),
        code_lens_provider: Some(lsp::CodeLensOptions {
            resolve_provider: Some(false),
        }),
        document_formatting_provider: Some(lsp::OneOf::Left(true)),
        document_range_formatting_provider: Some(lsp::OneOf::Left(true)),
        document_on_type_formatting_provider: Some(lsp::DocumentOnTypeFormattingOptions {
            first_trigger_character: "\n".to_owned(),
            more_trigger_character: Some(vec!["}".to_owned()]),
        }),
        rename_provider: Some(if client.prepares_rename {
            lsp::OneOf::Right(lsp::RenameOptions {
                prepare_provider: Some(true),
                work_done_progress_options: lsp::WorkDoneProgressOptions::default(),
            })
        } else {
            lsp::OneOf::Left(true)
        }),
        document_link_provider: Some(lsp::DocumentLinkOptions {
            resolve_provider: Some(false),
            work_done_progress_options: lsp::WorkDoneProgressOptions::default(),
        }),
        folding_range_provider: Some(lsp::FoldingRangeProviderCapability::Simple(true)),
        selection_range_provider: Some(lsp::SelectionRangeProviderCapability::Simple(true)),
        call_hierarchy_provider: Some(lsp::CallHierarchyServerCapability::Simple(true)),
        semantic_tokens_provider: Some(lsp::SemanticTokensServerCapabilities::SemanticTokensOptions(
            lsp::SemanticTokensOptions {
                legend: tokens::legend(),
                range: Some(true),
                full: Some(lsp::SemanticTokensFullOptions::Delta { delta: Some(true) }),
                ..lsp::SemanticTokensOptions::default()
            },
        )),
        execute_command_provider: Some(lsp::ExecuteCommandOptions {
            commands: vec![lenses::COMMAND.to_owned()],
            ..lsp::ExecuteCommandOptions::default()
        }),
        inlay_hint_provider: Some(lsp::OneOf::Left(true)),
        diagnostic_provider: client.pulls.then(|| {
            lsp::DiagnosticServerCapabilities::Options(lsp::DiagnosticOptions {
                identifier: Some("drysheath".to_owned()),
                inter_file_dependencies: true,
                workspace_diagnostics: true,
                work_done_progress_options: lsp::WorkDoneProgressOptions::default(),
            })
        }),
        workspace: Some(lsp::WorkspaceServerCapabilities {
            workspace_folders: Some(lsp::WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(lsp::OneOf::Left(true)),
            }),
            file_operations: None,
        }),
        ..lsp::ServerCapabilities::default()
    }
}

fn synchronization() -> lsp::TextDocumentSyncOptions {
    lsp::TextDocumentSyncOptions {
        open_close: Some(true),
        change: Some(lsp::TextDocumentSyncKind::INCREMENTAL),
        save: Some(lsp::TextDocumentSyncSaveOptions::Supported(true)),
        ..lsp::TextDocumentSyncOptions::default()
    }
}

fn encoding_kind(encoding: Encoding) -> lsp::PositionEncodingKind {
    match encoding {
        Encoding::Utf8 => lsp::PositionEncodingKind::UTF8,
        Encoding::Utf16 => lsp::PositionEncodingKind::UTF16,
        Encoding::Utf32 => lsp::PositionEncodingKind::UTF32,
    }
}
