//! Reading on several machines: a job for every entry that waits, in the PostgreSQL database of the store, and workers
//! that take them. Who has which job, who is alive and what goes back to the queue is `apalis`' business; what was
//! read is the store's. A job may therefore be delivered twice, and its entry is read once all the same.

mod error;
mod hand;
mod queue;
mod work;

pub use error::JobError;
pub use queue::Jobs;
pub use work::{Crew, News, work};
