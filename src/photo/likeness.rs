//! Whether two photos are the same picture: resized, compressed again, brightened or cropped a little. A perceptual
//! hash of the coarse structure: the lowest frequencies of a discrete cosine transform against their median.

use super::Pyramid;
use image_hasher::{HashAlg, HasherConfig};
use std::fmt;
use std::str::FromStr;

/// Frequencies each way.
const SIDE: u32 = 11;
/// Bits of a hash.
const BITS: u32 = SIDE * SIDE;
/// The side of the picture that the hash is made of, in pixels; the hash itself looks at twice `SIDE`.
const SMALL: u32 = SIDE * 16;
/// Two photos are the same picture when at most so many bits differ. Chosen on 160 generated plates, measured on
/// others: see "Photos and motors that are there already" in DEVELOPERS.md.
const MOST: u32 = 22;
/// The hash is cut into so many pieces. Of `MOST` differing bits one piece has at most `MOST / PIECES`.
const PIECES: u32 = 8;
/// Bits of a piece; the last one has one more.
const PIECE: u32 = BITS / PIECES;

// What `neighbours` tries is enough for every pair within `MOST`.
const _: () = assert!(MOST / PIECES <= 2 && PIECE == 15);

/// What a photo looks like. Two that are alike are the same picture, as far as can be told: a hint, never a proof.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Likeness(u128);

impl Likeness {
    /// Of a photo, as a person sees it.
    pub fn of(photo: &Pyramid) -> Likeness {
        let hasher = HasherConfig::with_bytes_type::<[u8; 16]>()
            .hash_size(SIDE, SIDE)
            .hash_alg(HashAlg::Median)
            .preproc_dct()
            .to_hasher();
        let small = photo.resized(SMALL, SMALL);
        let mut bytes = [0; 16];
        let hash = hasher.hash_image(&small);
        for (byte, hashed) in bytes.iter_mut().zip(hash.as_bytes()) {
            *byte = *hashed;
        }
        Likeness(u128::from_le_bytes(bytes))
    }

    /// Whether two photos are the same picture.
    pub fn is_like(self, other: Likeness) -> bool {
        (self.0 ^ other.0).count_ones() <= MOST
    }

    /// Its pieces, each with its number in it: photos without any near piece in common are not alike.
    pub fn pieces(self) -> impl Iterator<Item = u32> {
        (0..PIECES).map(move |number| {
            let width = match number + 1 {
                PIECES => BITS - number * PIECE,
                _ => PIECE,
            };
            let bits = (self.0 >> (number * PIECE)) & ((1 << width) - 1);
            // At most 16 bits.
            number << 16 | bits as u32
        })
    }

    /// The pieces of all photos that may be alike: at least one of theirs is among these. They differ from its own in
    /// at most two bits, for of at most 22 bits that differ in 8 pieces no more than two fall into the luckiest.
    pub fn neighbours(self) -> impl Iterator<Item = u32> {
        self.pieces().flat_map(|piece| {
            let width = match piece >> 16 == PIECES - 1 {
                true => BITS - (PIECES - 1) * PIECE,
                false => PIECE,
            };
            let one = move |bit: u32| piece ^ 1 << bit;
            let ones = (0..width).map(one);
            let twos = (0..width).flat_map(move |a| (0..a).map(move |b| one(a) ^ 1 << b));
            std::iter::once(piece).chain(ones).chain(twos)
        })
    }
}

impl fmt::Display for Likeness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

impl FromStr for Likeness {
    type Err = std::num::ParseIntError;

    fn from_str(text: &str) -> Result<Likeness, Self::Err> {
        u128::from_str_radix(text, 16).map(Likeness)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::{BTreeSet, HashSet};

    proptest! {
        /// Pigeonhole: whichever bits differ, a pair within the distance is found by its pieces.
        #[test]
        fn every_alike_pair_is_found_by_its_pieces(
            bits in any::<u128>(),
            changed in prop::collection::btree_set(0..BITS, 0..=MOST as usize),
        ) {
            let one = Likeness(bits & ((1 << BITS) - 1));
            let other = changed.iter().fold(one, |l, bit| Likeness(l.0 ^ 1 << bit));
            prop_assert!(one.is_like(other) && other.is_like(one));
            let near: HashSet<u32> = one.neighbours().collect();
            prop_assert!(other.pieces().any(|piece| near.contains(&piece)));
            prop_assert_eq!(one.to_string().parse::<Likeness>().unwrap(), one);
        }

        /// The same where the bits that differ are spread as evenly as can be.
        #[test]
        fn and_where_the_changes_are_spread_evenly(bits in any::<u128>(), start in 0..BITS, step in 1..BITS) {
            let one = Likeness(bits & ((1 << BITS) - 1));
            let changed: BTreeSet<u32> = (0..MOST).map(|n| (start + n * step) % BITS).collect();
            let other = changed.iter().fold(one, |l, bit| Likeness(l.0 ^ 1 << bit));
            let near: HashSet<u32> = one.neighbours().collect();
            prop_assert!(other.pieces().any(|piece| near.contains(&piece)));
        }
    }

    #[test]
    fn one_bit_more_is_another_picture() {
        let one = Likeness(0);
        assert!(one.is_like(Likeness((1 << MOST) - 1)));
        assert!(!one.is_like(Likeness((1 << (MOST + 1)) - 1)));
        // Each piece once, and every bit in one of them.
        let pieces: Vec<u32> = Likeness((1 << BITS) - 1).pieces().collect();
        assert_eq!(
            pieces
                .iter()
                .map(|p| (p & 0xFFFF).count_ones())
                .sum::<u32>(),
            BITS
        );
        assert_eq!(
            one.neighbours().count(),
            7 * (1 + 15 + 105) + (1 + 16 + 120)
        );
    }
}
