/// Pseudo-random numbers that depend only on the seed (`SplitMix64`).
///
/// Not from a library: counties are compared byte by byte between versions, and libraries change the numbers that a
/// seed gives from one version to the next.
pub(super) struct Random(u64);

const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

impl Random {
    /// The generator for one office of a county.
    pub fn new(seed: u64, office: u32) -> Self {
        let mut random = Self(seed);
        let start = random.next() ^ u64::from(office).wrapping_mul(GOLDEN);
        Self(start)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(GOLDEN);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number from `low` to `high`, both included.
    pub fn between(&mut self, low: u32, high: u32) -> u32 {
        let width = u64::from(high.saturating_sub(low)) + 1;
        low + (self.next() % width) as u32
    }

    /// True with a probability of `percent` in a hundred.
    pub fn chance(&mut self, percent: u32) -> bool {
        self.between(1, 100) <= percent
    }

    /// One of `choices`, with equal probability.
    pub fn pick<T: Copy + Default>(&mut self, choices: &[T]) -> T {
        let last = (choices.len() as u32).saturating_sub(1);
        choices.get(self.between(0, last) as usize).copied().unwrap_or_default()
    }
}
