//! What is written can be read and understood.

pub(crate) mod acceptance_expired;
pub(crate) mod acceptance_unneeded;
pub(crate) mod acceptance_void;
pub(crate) mod field_missing;
pub(crate) mod field_twice;
pub(crate) mod field_unknown;
pub(crate) mod kind_unknown;
pub(crate) mod name_unknown;
pub(crate) mod nesting_too_deep;
pub(crate) mod number_too_long;
pub(crate) mod office_repeated;
pub(crate) mod part_unknown;
pub(crate) mod part_wrong_kind;
pub(crate) mod port_unknown;
pub(crate) mod settings_unreadable;
pub(crate) mod statement_unreadable;
pub(crate) mod text_not_utf8;
pub(crate) mod text_too_large;
pub(crate) mod unit_missing;
pub(crate) mod unit_unknown;
pub(crate) mod unit_wrong_dimension;
pub(crate) mod use_cycle;
pub(crate) mod use_not_found;
pub(crate) mod use_outside_repository;
pub(crate) mod value_implausible;
pub(crate) mod value_unreadable;
