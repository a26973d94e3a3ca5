//! Common utilities used by other RTen crates.
//!
//! This is an internal crate which contains various utilities that don't have
//! a more dedicated home.

pub mod bit_set;
pub mod byte_cast;
pub mod from;
pub mod hint;
pub mod iter;
pub mod num;
pub mod unroll;
