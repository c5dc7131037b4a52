//! Reads acceptances: rule, thing, reason and end date.

use drysheath_syntax::{self as syntax, Statement, TokenKind};
use drysheath_text::TextRange;

use super::Lowering;
use super::end_problems::unknown_thing;
use super::shapes::unquoted;
use crate::date::Date;
use crate::model::{Acceptance, Spanned};
use crate::problem::{Problem, ProblemId};

impl Lowering<'_> {
    /// Whether an unreadable statement is certainly an acceptance, so that nothing else can be missing with it.
    pub(super) fn only_accepts(&self, statement: &Statement) -> bool {
        const OWN: [TokenKind; 6] = [
            TokenKind::Word,
            TokenKind::On,
            TokenKind::Because,
            TokenKind::Text,
            TokenKind::Until,
            TokenKind::Date,
        ];
        match self.tree.items(statement.items) {
            [first, rest @ ..] => first.kind == TokenKind::Accept && rest.iter().all(|token| OWN.contains(&token.kind)),
            [] => false,
        }
    }

    pub(super) fn acceptance(
        &self,
        written: &syntax::Accept,
        range: TextRange,
    ) -> Result<Acceptance, Option<Box<Problem>>> {
        let on_range = self.tree.range(written.on);
        let name = on_range.of(self.text);
        let Some(on) = self.office.named(name) else {
            if self.office.unsure.names {
                return Err(None);
            }
            return Err(Some(Box::new(unknown_thing(
                name,
                on_range,
                self.office,
                &self.suggestions,
            ))));
        };
        let because = unquoted(self.word(written.because));
        let because = because.trim();
        if because.is_empty() {
            let problem = Problem::new(
                ProblemId::AcceptanceVoid,
                self.tree.range(written.because),
                "this acceptance gives no reason",
            )
            .help("write why the office is right as it is, for whoever reads it next year");
            return Err(Some(Box::new(problem)));
        }
        let until = self.tree.range(written.until);
        let Some(date) = Date::read(until.of(self.text)) else {
            let problem = Problem::new(
                ProblemId::AcceptanceVoid,
                until,
                format!("there is no such date as {}", until.of(self.text)),
            );
            return Err(Some(Box::new(problem)));
        };
        let rule = self.tree.range(written.rule);
        Ok(Acceptance {
            rule: Spanned {
                value: rule.of(self.text).into(),
                range: rule,
            },
            on,
            on_range,
            because: because.into(),
            until: Spanned {
                value: date,
                range: until,
            },
            range,
        })
    }
}
