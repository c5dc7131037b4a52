//! A self-contained HTML page: one style, at most one script, and a policy that blocks everything else.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

/// Script of a page.
pub struct Script {
    pub text: &'static str,
    /// Whether it loads further scripts from files beside the page.
    pub loads: bool,
}

/// The page as text. Control and invisible characters from an office are shown escaped.
pub fn web_page(title: &str, style: &str, script: Option<&Script>, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy(style, script));
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body {
                (body)
                @if let Some(script) = script { script { (PreEscaped(script.text)) } }
            }
        }
    };
    drysheath_text::safe::xml(&page.into_string()).into_owned()
}

/// Content security policy (level 3) of a page: anything else that a title or note could inject would not run.
fn policy(style: &str, script: Option<&Script>) -> String {
    let script = script.map_or_else(String::new, |script| {
        let loads = if script.loads { " 'strict-dynamic'" } else { "" };
        format!("script-src 'sha256-{}'{loads}; ", hash(script.text))
    });
    format!(
        "default-src 'none'; style-src 'sha256-{}'; {script}base-uri 'none'; form-action 'none'",
        hash(style)
    )
}

/// Hash by which a policy allows a style or script: SHA-256 in base64.
fn hash(text: &str) -> String {
    STANDARD.encode(Sha256::digest(text.as_bytes()))
}
