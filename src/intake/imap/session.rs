//! An open mail folder: takes what has no mark, marks it, and waits for more.

use super::connect::{MailError, Trust, Wire, connect, patient};
use super::{Account, Address, address};
use crate::intake::keep::keep_walk;
use crate::intake::watching::Desks;
use crate::intake::{Limits, Stop, Walk};
use async_imap::Session;
use async_imap::error::Error;
use async_imap::extensions::idle::IdleResponse;
use async_imap::types::{Flag, UnsolicitedResponse};
use futures_util::TryStreamExt;
use std::collections::HashMap;
use std::ops::ControlFlow;
use std::time::Duration;

/// The keyword that marks a mail as taken, so that it stays unread for people and may be read before it is taken.
const TAKEN: &str = "Platewright";
/// A server may hang up after half an hour without a word (RFC 2177); it is asked anew well before.
const IDLE: Duration = Duration::from_secs(9 * 60);
/// A server that cannot say by itself what comes is asked so often.
const ASKED: Duration = Duration::from_secs(30);
/// A mail that broke the connection so often is left alone until the next start.
const TRIED: u32 = 3;

/// How often mails broke the connection, by their UID.
pub(super) type Failures = HashMap<u32, u32>;

/// An open folder.
pub(super) struct Open {
    session: Session<Box<dyn Wire>>,
    /// Whether mails can be marked with a word of our own; else they are marked as read.
    keywords: bool,
    idle: bool,
}

/// Connects, logs in and opens the folder.
pub(super) async fn open(account: &Account, trust: &Trust) -> Result<Open, MailError> {
    let at = &account.address;
    let client = connect(account, trust).await?;
    let mut session = patient(at, client.login(&at.user, &account.password))
        .await?
        .map_err(|(error, _)| match error {
            Error::No(why) | Error::Bad(why) => MailError::Login(at.clone(), why),
            Error::Validate(_) => MailError::Login(
                at.clone(),
                "user or password have characters that cannot be sent".to_owned(),
            ),
            error => lost(at, &error),
        })?;
    let idle = patient(at, session.capabilities())
        .await?
        .map_err(|e| lost(at, &e))?
        .has_str("IDLE");
    let folder = patient(at, session.select(address::sent(&at.folder)))
        .await?
        .map_err(|error| match error {
            Error::No(why) | Error::Bad(why) => MailError::Folder(at.clone(), why),
            error => lost(at, &error),
        })?;
    Ok(Open {
        session,
        keywords: folder.permanent_flags.iter().any(|flag| match flag {
            Flag::MayCreate => true,
            Flag::Custom(word) => word.eq_ignore_ascii_case(TAKEN),
            _ => false,
        }),
        idle,
    })
}

/// Takes what is there and what comes, until somebody wants to stop or the connection is lost.
pub(super) async fn follow(
    mut open: Open,
    account: &Account,
    desks: &Desks,
    stop: &Stop,
    failures: &mut Failures,
) -> Result<(), MailError> {
    let at = &account.address;
    while !stop.is_set() {
        let unmarked = if open.keywords {
            format!("UNKEYWORD {TAKEN}")
        } else {
            "UNSEEN".to_owned()
        };
        let found = patient(at, open.session.uid_search(unmarked)).await?;
        let mut uids: Vec<u32> = found.map_err(|e| lost(at, &e))?.into_iter().collect();
        uids.sort_unstable();
        for uid in uids {
            if stop.is_set() {
                break;
            }
            let tried = failures.entry(uid).or_default();
            if *tried >= TRIED {
                continue;
            }
            *tried += 1;
            if *tried == TRIED {
                desks.say(format!(
                    "{}: this mail broke the connection {} times; the last try. Save it from the mail program if it fails",
                    at.of_mail(uid),
                    TRIED - 1
                ));
            }
            open.take(uid, at, desks, stop).await?;
            failures.remove(&uid);
        }
        if stop.is_set() {
            break;
        }
        open = open.wait(at, stop).await?;
    }
    // The server may be away already; nothing depends on a good-bye.
    let _ = tokio::time::timeout(Duration::from_secs(2), open.session.logout()).await;
    Ok(())
}

impl Open {
    /// Takes one mail into the store, then marks it.
    async fn take(
        &mut self,
        uid: u32,
        at: &Address,
        desks: &Desks,
        stop: &Stop,
    ) -> Result<(), MailError> {
        let limits = Limits::default();
        let Some(size) = self
            .fetch(uid, "(RFC822.SIZE)", at, |mail| mail.size)
            .await?
        else {
            // Somebody has moved or deleted it meanwhile.
            return Ok(());
        };
        let large = u64::from(size) > limits.nested_bytes;
        let (what, place) = match large {
            true => ("(BODY.PEEK[HEADER])", at.of_mail(uid)),
            false => ("(BODY.PEEK[])", at.of_mail(uid)),
        };
        let content = |mail: &async_imap::types::Fetch| {
            let found = if large { mail.header() } else { mail.body() };
            found.map(<[u8]>::to_vec)
        };
        let Some(bytes) = self.fetch(uid, what, at, content).await? else {
            return Ok(());
        };
        let through = move |walk: &mut Walk<'_>| -> ControlFlow<()> {
            match large {
                true => walk.large_mail(&bytes, &place),
                false => walk.mail(&bytes, &place),
            }
        };
        let mut progress = desks.progress();
        let store = &desks.desk().store;
        let kept = keep_walk(store, limits, stop, through, |tally| progress.tell(tally)).await;
        let (_, to_the_end) = kept.map_err(|e| MailError::Store(at.clone(), e.to_string()))?;
        if to_the_end {
            self.mark(uid, at).await?;
        }
        Ok(())
    }

    /// Something of a mail; `None` when it is not there any more.
    async fn fetch<T>(
        &mut self,
        uid: u32,
        what: &str,
        at: &Address,
        of: impl Fn(&async_imap::types::Fetch) -> Option<T>,
    ) -> Result<Option<T>, MailError> {
        // A large mail over a slow line takes its time; silence is what counts.
        let mut mails = patient(at, self.session.uid_fetch(uid.to_string(), what))
            .await?
            .map_err(|e| lost(at, &e))?;
        let mut found = None;
        loop {
            let next = tokio::time::timeout(LARGE, mails.try_next())
                .await
                .map_err(|_| MailError::Silent(at.clone()))?;
            match next.map_err(|e| lost(at, &e))? {
                Some(mail) if mail.uid == Some(uid) => found = found.or_else(|| of(&mail)),
                Some(_) => {}
                None => return Ok(found),
            }
        }
    }

    /// Marks a mail as taken.
    async fn mark(&mut self, uid: u32, at: &Address) -> Result<(), MailError> {
        let mark = if self.keywords { TAKEN } else { "\\Seen" };
        let what = format!("+FLAGS.SILENT ({mark})");
        let marked = patient(at, async {
            let answers = self.session.uid_store(uid.to_string(), what).await?;
            answers.try_collect::<Vec<_>>().await
        });
        marked.await?.map_err(|e| lost(at, &e))?;
        Ok(())
    }

    /// Waits until something comes, for a while, or until somebody wants to stop.
    async fn wait(mut self, at: &Address, stop: &Stop) -> Result<Open, MailError> {
        let news = self.session.unsolicited_responses.clone();
        let mut come = false;
        while let Ok(one) = news.try_recv() {
            come |= matches!(one, UnsolicitedResponse::Exists(_));
        }
        if come {
            return Ok(self);
        }
        if !self.idle {
            if !stop.wanted_within(ASKED).await {
                patient(at, self.session.noop())
                    .await?
                    .map_err(|e| lost(at, &e))?;
            }
            return Ok(self);
        }
        let mut idle = self.session.idle();
        patient(at, idle.init()).await?.map_err(|e| lost(at, &e))?;
        // What came between the last look and now was said before the waiting began.
        if news.is_empty() {
            let (said, interrupt) = idle.wait_with_timeout(IDLE);
            tokio::select! {
                said = said => match said.map_err(|e| lost(at, &e))? {
                    IdleResponse::ManualInterrupt => {
                        return Err(MailError::Lost(at.clone(), "the server hung up".to_owned()));
                    }
                    IdleResponse::NewData(_) | IdleResponse::Timeout => {}
                },
                () = stop.wanted() => {}
            }
            drop(interrupt);
        }
        self.session = patient(at, idle.done()).await?.map_err(|e| lost(at, &e))?;
        Ok(self)
    }
}

/// A piece of a mail that takes longer than this will not come.
const LARGE: Duration = Duration::from_secs(600);

fn lost(at: &Address, error: &Error) -> MailError {
    MailError::Lost(at.clone(), error.to_string())
}
