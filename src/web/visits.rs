//! A limit on the pages that visitors ask for: a bucket of pages for each address, filled again as
//! time passes. It protects the work of a greenhouse on a small machine, and no secret.

use std::collections::HashMap;
use std::net::{IpAddr, Ipv6Addr, SocketAddr};
use std::sync::Mutex;

use axum::extract::ConnectInfo;
use axum::http::Request;
use chrono::TimeDelta;

use crate::clock::Moment;

/// Pages that an address may ask for at once. A class behind one address opens a page each, and more.
const AT_ONCE: i64 = 120;
/// Pages that come back in a second.
const EACH_SECOND: i64 = 2;
/// No more addresses than this are remembered: a few hundred kilobytes.
const REMEMBERED: usize = 10_000;
/// What a reverse proxy on this machine writes the address of its client into.
const FORWARDED: &str = "x-forwarded-for";

/// Who is counted: an address, the block of 64 bits that one household or site has of the newer kind,
/// or all of whom no address is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Visiting {
    Address(IpAddr),
    Unknown,
}

impl Visiting {
    /// Who sent a request. A proxy is believed only where it runs on this machine, and only the last
    /// address that it names: everything before that may have been typed by anybody.
    pub fn of<B>(request: &Request<B>) -> Self {
        let Some(ConnectInfo(peer)) = request.extensions().get::<ConnectInfo<SocketAddr>>() else {
            return Self::Unknown;
        };
        let peer = peer.ip().to_canonical();
        let named = request.headers().get_all(FORWARDED).iter().next_back();
        let named = named
            .and_then(|value| value.to_str().ok()?.rsplit(',').next()?.trim().parse().ok())
            .filter(|_| peer.is_loopback());
        Self::Address(counted(named.unwrap_or(peer)))
    }
}

/// One address of the newer kind is easily changed for another of the same block.
fn counted(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(long) => {
            let [a, b, c, d, ..] = long.segments();
            IpAddr::V6(Ipv6Addr::new(a, b, c, d, 0, 0, 0, 0))
        }
        short => short,
    }
}

#[derive(Clone, Copy, Debug)]
struct Bucket {
    pages: i64,
    at: Moment,
}

impl Bucket {
    fn full(at: Moment) -> Self {
        Self { pages: AT_ONCE, at }
    }

    /// What is in it by now. A clock that was put back fills nothing.
    fn filled(self, now: Moment) -> Self {
        let seconds = now.since(self.at).num_seconds().clamp(0, AT_ONCE);
        let pages = (self.pages + seconds * EACH_SECOND).min(AT_ONCE);
        Self { pages, at: now }
    }
}

/// The buckets of those who visited of late.
#[derive(Debug, Default)]
pub struct Visits(Mutex<Remembered>);

#[derive(Debug, Default)]
struct Remembered {
    buckets: HashMap<Visiting, Bucket>,
    /// When those who are gone were forgotten last: once a second is enough, whatever comes in.
    swept: Option<Moment>,
}

impl Visits {
    /// Takes a page out of a visitor's bucket.
    ///
    /// # Errors
    /// How long to wait until there is one.
    pub fn take(&self, who: Visiting, now: Moment) -> Result<(), TimeDelta> {
        let mut remembered = self
            .0
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        let Remembered { buckets, swept } = &mut *remembered;
        if buckets.len() >= REMEMBERED && *swept != Some(now) {
            // A full bucket is like one that was never seen.
            buckets.retain(|_, bucket| bucket.filled(now).pages < AT_ONCE);
            *swept = Some(now);
        }
        // Where even so nobody more can be remembered, newcomers share one bucket.
        let who = if buckets.len() < REMEMBERED || buckets.contains_key(&who) {
            who
        } else {
            Visiting::Unknown
        };
        let bucket = buckets.entry(who).or_insert_with(|| Bucket::full(now));
        *bucket = bucket.filled(now);
        if bucket.pages < 1 {
            return Err(TimeDelta::seconds(1));
        }
        bucket.pages -= 1;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Moment {
        "2027-03-04T08:00:00Z".parse().unwrap()
    }

    fn from(number: u32) -> Visiting {
        Visiting::Address(IpAddr::from(number.to_be_bytes()))
    }

    #[test]
    fn a_bucket_runs_empty_alone_and_fills_again() {
        let visits = Visits::default();
        for _ in 0..AT_ONCE {
            assert!(visits.take(from(1), now()).is_ok());
        }
        assert_eq!(visits.take(from(1), now()), Err(TimeDelta::seconds(1)));
        assert!(visits.take(from(2), now()).is_ok());
        let later = now().plus(TimeDelta::seconds(1));
        assert!(visits.take(from(1), later).is_ok() && visits.take(from(1), later).is_ok());
        assert!(visits.take(from(1), later).is_err());
        // The clock was put back: nothing breaks and nothing is given away.
        assert!(visits.take(from(1), now()).is_err());
        let much_later = now().plus(TimeDelta::days(400));
        for _ in 0..AT_ONCE {
            assert!(visits.take(from(1), much_later).is_ok());
        }
        assert!(visits.take(from(1), much_later).is_err());
    }

    #[test]
    fn no_more_addresses_are_remembered_than_the_ceiling() {
        let visits = Visits::default();
        let held = || visits.0.lock().unwrap().buckets.len();
        let most = u32::try_from(REMEMBERED).unwrap();
        for number in 0..2 * most {
            let _ = visits.take(from(number), now());
        }
        assert!(held() <= REMEMBERED + 1, "{}", held());
        // All the newcomers took from one bucket, which is empty; those known before are not hurt.
        assert!(visits.take(from(2 * most), now()).is_err());
        assert!(visits.take(from(0), now()).is_ok());
        // A minute later the buckets are full again, and nobody has to be remembered.
        assert!(
            visits
                .take(from(2 * most), now().plus(TimeDelta::minutes(1)))
                .is_ok()
        );
        assert_eq!(held(), 1);
    }

    fn asked(peer: &str, forwarded: &[&str]) -> Visiting {
        let mut request = Request::builder();
        for value in forwarded {
            request = request.header(FORWARDED, *value);
        }
        let mut request = request.body(()).unwrap();
        let peer: IpAddr = peer.parse().unwrap();
        let peer = SocketAddr::new(peer, 4000);
        request.extensions_mut().insert(ConnectInfo(peer));
        Visiting::of(&request)
    }

    fn address(text: &str) -> Visiting {
        Visiting::Address(text.parse().unwrap())
    }

    #[test]
    fn only_a_proxy_on_this_machine_is_believed_and_only_its_last_word() {
        assert_eq!(asked("203.0.113.9", &[]), address("203.0.113.9"));
        assert_eq!(
            asked("203.0.113.9", &["198.51.100.1"]),
            address("203.0.113.9")
        );
        let chain = ["192.0.2.7", "10.0.0.1, 198.51.100.1"];
        assert_eq!(asked("127.0.0.1", &chain), address("198.51.100.1"));
        assert_eq!(asked("::ffff:127.0.0.1", &chain), address("198.51.100.1"));
        assert_eq!(asked("127.0.0.1", &["nonsense"]), address("127.0.0.1"));
        assert_eq!(asked("2001:db8:1:2:3::4", &[]), address("2001:db8:1:2::"));
        assert_eq!(Visiting::of(&Request::new(())), Visiting::Unknown);
    }
}
