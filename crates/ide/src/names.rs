//! Occurrences of names in a file: of things, parts, named fields, files and rules.
//!
//! Names are found even in invalid statements, as far as these can be read.

use drysheath_office::kinds::Key;
use drysheath_office::{Fields, Meaning, Office, Part, ThingId};
use drysheath_syntax::{Statement, Tree};
use drysheath_text::TextRange;
use drysheath_workspace::Analysis;

/// What a name refers to, within one file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Name<'a> {
    /// A thing of the file.
    Thing(&'a str),
    /// A thing of an assembly, by its name in the drawing.
    Within {
        /// The part that the assembly is placed by.
        assembly: &'a str,
        /// The name in the drawing.
        name: &'a str,
    },
    /// A part in any file.
    Part(&'a str),
    /// A named field: a section, branch, place or contact.
    Inner {
        /// The owner of the field.
        owner: Owner<'a>,
        /// The key of the field.
        key: Key,
        /// The name of the field.
        name: &'a str,
    },
    /// A file of parts, by path.
    File(&'a str),
    /// A rule, by its name in an acceptance.
    Rule(&'a str),
}

/// Owner of a named field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Owner<'a> {
    /// A thing, by its name.
    Thing(&'a str),
    /// A part, and so every thing that uses it.
    Part(&'a str),
    /// The named field around it. It cannot be named from elsewhere, so its place identifies it.
    Field(TextRange),
}

impl<'a> Name<'a> {
    /// The name as written.
    pub fn word(self) -> &'a str {
        match self {
            Self::Thing(word)
            | Self::Part(word)
            | Self::Within { name: word, .. }
            | Self::Inner { name: word, .. }
            | Self::File(word)
            | Self::Rule(word) => word,
        }
    }

    /// The part by which other files may know it.
    pub fn part(self) -> Option<&'a str> {
        match self {
            Self::Part(part)
            | Self::Within { assembly: part, .. }
            | Self::Inner {
                owner: Owner::Part(part),
                ..
            } => Some(part),
            _ => None,
        }
    }
}

/// An occurrence of a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mention<'a> {
    /// Range of the name.
    pub range: TextRange,
    /// What the name refers to.
    pub name: Name<'a>,
    /// For a named field, its thing.
    pub of: Option<ThingId>,
    /// Whether it is a declaration.
    pub declares: bool,
}

/// The name at an offset, or else the one that ends there.
pub fn name_at(analysis: &Analysis, offset: u32) -> Option<Mention<'_>> {
    let statements = &analysis.tree.statements;
    let after = statements.partition_point(|statement| statement.range.start <= offset);
    // Of two adjacent statements, the first may end with the name.
    let touching = statements.get(after.saturating_sub(2)..after).unwrap_or_default();
    let mentions = touching
        .iter()
        .flat_map(|statement| mentions_in(&analysis.office, &analysis.tree, statement));
    let mut here = mentions.filter(|mention| mention.range.start <= offset && offset <= mention.range.end);
    here.next_back()
}

/// The part of a thing, if a mention is that of its part.
pub fn part_taken<'a>(analysis: &'a Analysis, mention: &Mention<'_>) -> Option<&'a Part> {
    let thing = analysis.office.thing_around(mention.range)?;
    let part = analysis.office.thing(thing).part.as_deref()?;
    (!mention.declares && mention.name == Name::Part(&part.name)).then_some(part)
}

/// All occurrences of names in a file, in order.
pub fn mentions(analysis: &Analysis) -> impl Iterator<Item = Mention<'_>> {
    let statements = analysis.tree.statements.iter();
    statements.flat_map(|statement| mentions_in(&analysis.office, &analysis.tree, statement))
}

/// The occurrences of a name in the file of an office and its tree, in order.
pub fn mentions_of<'a>(office: &'a Office, tree: &Tree, name: Name<'_>) -> Vec<Mention<'a>> {
    let statements = tree.statements.iter();
    // Reading a statement costs far more than searching its text.
    let may_say = statements.filter(|statement| statement.range.of(&office.text).contains(name.word()));
    may_say
        .flat_map(|statement| mentions_in(office, tree, statement))
        .filter(|mention| mention.name == name)
        .collect()
}

fn mentions_in<'a>(office: &'a Office, tree: &Tree, statement: &Statement) -> Vec<Mention<'a>> {
    let mut subject = Subject {
        office,
        declared: "",
        named: "",
    };
    let tokens = office.semantic_tokens(tree, statement);
    let mention = tokens
        .iter()
        .filter_map(|token| subject.mention(token.range, token.meaning));
    mention.collect()
}

/// The subject of names inside a thing or part, updated from token to token of a statement.
struct Subject<'a> {
    office: &'a Office,
    /// The thing or part that the statement declares.
    declared: &'a str,
    /// The last thing named.
    named: &'a str,
}

impl<'a> Subject<'a> {
    fn mention(&mut self, range: TextRange, meaning: Meaning) -> Option<Mention<'a>> {
        let office = self.office;
        let word = range.of(&office.text);
        let (name, of, declares) = match meaning {
            Meaning::Path => (Name::File(word), None, false),
            Meaning::Rule => (Name::Rule(word), None, false),
            Meaning::Thing { id, declares } => {
                *(if declares { &mut self.declared } else { &mut self.named }) = word;
                // A name declared in a drawing or route is known in the offices as well.
                let route = id.and_then(|id| office.route_with(id));
                let name = match office.drawn_as().or(route.map(|route| &*route.part)) {
                    Some(part) => Name::Within {
                        assembly: &part.name,
                        name: word,
                    },
                    None => Name::Thing(word),
                };
                (name, id.filter(|_| route.is_some()), declares)
            }
            Meaning::Within { thing } => {
                self.named = office.name(thing);
                let placed = office.placed_with(thing)?;
                let assembly = &placed.part.name;
                (Name::Within { assembly, name: word }, Some(thing), false)
            }
            Meaning::Part { declares } => {
                if declares {
                    self.declared = word;
                }
                (Name::Part(word), None, declares)
            }
            Meaning::Named {
                thing,
                key,
                declares,
                is_nested,
            } => {
                let owner = match thing {
                    _ if is_nested => Owner::Field(range),
                    None if declares => Owner::Part(self.declared),
                    _ => self.owner(if declares { self.declared } else { self.named }, thing, key, word),
                };
                let of = thing.filter(|_| !is_nested);
                (Name::Inner { owner, key, name: word }, of, declares)
            }
            _ => return None,
        };
        Some(Mention {
            range,
            name,
            of,
            declares,
        })
    }

    /// The owner of a named field. A field of a part that the thing overrides belongs to the part.
    fn owner(&self, name: &'a str, thing: Option<ThingId>, key: Key, word: &str) -> Owner<'a> {
        let parts = thing.into_iter().flat_map(|id| self.office.thing(id).parts());
        let part = parts.filter(|part| part.named(key).any(|(own, ..)| own == word)).last();
        part.map_or(Owner::Thing(name), |part| Owner::Part(&part.name))
    }
}
