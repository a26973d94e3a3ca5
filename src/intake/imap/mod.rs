//! A folder of a mail server (IMAP, RFC 9051 and 3501) that is watched: each mail goes into the store, and is marked
//! on the server only when it is there. What has no mark is taken again, and the store knows what it has; so nothing
//! is lost and nothing is there twice, however a connection ends.

mod address;
mod connect;
mod session;

pub use address::{Address, AddressError};
pub use connect::MailError;

use super::Stop;
use super::watching::Desks;
use connect::Trust;
use std::fmt;
use std::path::PathBuf;
use std::time::Duration;

/// A folder of a mail server, and what is needed to open it.
#[derive(Clone)]
pub struct Account {
    /// Where it is.
    pub address: Address,
    /// The password.
    pub password: String,
    /// Certificates (PEM) to be trusted beside the system's.
    pub certificates: Option<PathBuf>,
}

impl fmt::Debug for Account {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.address)
    }
}

/// The first pause after a connection was lost; each further one is twice as long.
const FIRST_PAUSE: Duration = Duration::from_secs(1);
/// The longest.
const LONGEST_PAUSE: Duration = Duration::from_secs(300);

/// Takes in the mails of a folder as they come, until somebody wants to stop. A server that is away is waited for;
/// one that refuses the user, the password or the folder at the beginning ends it.
pub(super) async fn watch(account: &Account, desks: &Desks, stop: &Stop) -> Result<(), MailError> {
    let trust = Trust::new(account.certificates.as_deref())?;
    let mut pause = FIRST_PAUSE;
    let mut once_in = false;
    let mut failures = session::Failures::default();
    while !stop.is_set() {
        let opened = tokio::select! {
            () = stop.wanted() => break,
            opened = session::open(account, &trust) => opened,
        };
        let ended = match opened {
            Ok(session) => {
                if once_in {
                    desks.say(format!("{}: the server is back", account.address));
                }
                (pause, once_in) = (FIRST_PAUSE, true);
                session::follow(session, account, desks, stop, &mut failures).await
            }
            Err(error) if error.is_refusal() && !once_in => return Err(error),
            Err(error) => Err(error),
        };
        let Err(error) = ended else { break };
        desks.say(format!(
            "{error}; tried again in {} s. Nothing is lost: mails stay on the server until the store has them",
            pause.as_secs()
        ));
        if stop.wanted_within(pause).await {
            break;
        }
        pause = (2 * pause).min(LONGEST_PAUSE);
    }
    Ok(())
}
