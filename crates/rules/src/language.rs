//! What is written can be read and understood.

mod acceptance_expired;
mod acceptance_unneeded;
mod acceptance_void;
mod field_missing;
mod field_twice;
mod field_unknown;
mod kind_unknown;
mod name_unknown;
mod nesting_too_deep;
mod number_too_long;
mod office_repeated;
mod part_unknown;
mod part_wrong_kind;
mod port_unknown;
mod settings_unreadable;
mod statement_unreadable;
mod text_not_utf8;
mod text_too_large;
mod unit_missing;
mod unit_unknown;
mod unit_wrong_dimension;
mod use_cycle;
mod use_not_found;
mod use_outside_repository;
mod value_unreadable;

use crate::rule::Rule;

pub(crate) static RULES: &[&Rule] = &[
    &statement_unreadable::RULE,
    &nesting_too_deep::RULE,
    &number_too_long::RULE,
    &text_too_large::RULE,
    &text_not_utf8::RULE,
    &kind_unknown::RULE,
    &name_unknown::RULE,
    &port_unknown::RULE,
    &field_missing::RULE,
    &field_unknown::RULE,
    &field_twice::RULE,
    &value_unreadable::RULE,
    &unit_missing::RULE,
    &unit_unknown::RULE,
    &unit_wrong_dimension::RULE,
    &part_unknown::RULE,
    &part_wrong_kind::RULE,
    &use_not_found::RULE,
    &use_cycle::RULE,
    &use_outside_repository::RULE,
    &office_repeated::RULE,
    &acceptance_void::RULE,
    &acceptance_expired::RULE,
    &acceptance_unneeded::RULE,
    &settings_unreadable::RULE,
];
