/// Safety cautions for people who work from a printed sheet. The wording is our own; the law and licensed people
/// govern.
pub const CAUTIONS: &str = "\
Compressed air: vent slowly before a fitting is opened, and never exceed the lowest
rating. Battery plant: a slip carries thousands of amperes; insulated tools, no jewellery, and prove it dead before mating. Pairs may carry
ringing, foreign voltage or lightning: test first, never in a storm. Manholes: test the air, ventilate, guard the opening. Local
codes and licensed people govern.
";
