//! Telephone lines and addresses over which monitors report, and how duplicates are found.

use std::collections::HashMap;
use std::net::{Ipv4Addr, Ipv6Addr};

use drysheath_office::{LinkMedium, MonitorLink, Summary};

use crate::lint::RepositoryInspection;

/// Two monitors with the same line or address.
pub(super) struct SharedAddress<'s> {
    /// The first of the two, in the order of the files.
    pub earlier: (&'s Summary, &'s MonitorLink),
    pub later: (&'s Summary, &'s MonitorLink),
    /// Whether it may be correct: the same private address may belong to another monitor behind another router.
    pub may_be_right: bool,
}

impl SharedAddress<'_> {
    /// The shared item, as a word for messages.
    pub fn what(&self) -> &'static str {
        match self.later.1.over {
            LinkMedium::Lan => "address",
            LinkMedium::Dialled => "line",
        }
    }

    /// Name of the earlier monitor in messages about the later one.
    pub fn whose(&self) -> String {
        let (monitor, office) = (&self.earlier.1.monitor, &self.earlier.0.office);
        if self.earlier.0.file == self.later.0.file {
            format!("`{monitor}`")
        } else {
            format!("`{monitor}` of `{office}`")
        }
    }
}

/// A normalized address or number: equal for different spellings.
#[derive(Debug, PartialEq, Eq)]
struct NormalizedAddress {
    at: String,
    /// Port of an address, if stated: a router may forward each port to another monitor.
    port: Option<u16>,
    is_private: bool,
}

/// A monitor and the port of its address.
type KnownMonitors<'s> = (Option<u16>, &'s Summary, &'s MonitorLink);

/// The monitors whose line or address an earlier one already has.
pub(super) fn shared<'s>(repository: &RepositoryInspection<'s>) -> Vec<SharedAddress<'s>> {
    let mut known: HashMap<(LinkMedium, String), Vec<KnownMonitors<'_>>> = HashMap::new();
    let mut shared = Vec::new();
    for summary in repository.summaries {
        for link in summary.links.iter().filter(|link| !link.to.trim().is_empty()) {
            let heard = normalized(link.over, &link.to);
            let earlier = known.entry((link.over, heard.at)).or_default();
            let is_same = |port: Option<u16>| port.zip(heard.port).is_none_or(|(one, other)| one == other);
            match earlier.iter().find(|(port, ..)| is_same(*port)) {
                Some((_, other, first)) => shared.push(SharedAddress {
                    earlier: (other, first),
                    later: (summary, link),
                    may_be_right: heard.is_private && other.file != summary.file,
                }),
                None => earlier.push((heard.port, summary, link)),
            }
        }
    }
    shared
}

fn normalized(over: LinkMedium, written: &str) -> NormalizedAddress {
    match over {
        LinkMedium::Lan => address(written),
        LinkMedium::Dialled => NormalizedAddress {
            at: number(written),
            port: None,
            is_private: false,
        },
    }
}

/// A telephone number without punctuation and spacing.
fn number(written: &str) -> String {
    let written = written.trim().to_lowercase();
    let written = written.strip_prefix("tel:").unwrap_or(&written).replace("(0)", "");
    let digits: String = written
        .chars()
        .filter(|letter| letter.is_alphanumeric() || *letter == '+')
        .collect();
    match digits.strip_prefix("00") {
        Some(abroad) => format!("+{abroad}"),
        None => digits,
    }
}

/// An internet address without scheme, path and port.
fn address(written: &str) -> NormalizedAddress {
    let written = written.trim().to_lowercase();
    let after_scheme = written.split_once("://").map_or(&*written, |(_, rest)| rest);
    let authority = after_scheme.split(['/', '?', '#']).next().unwrap_or_default();
    let authority = authority.rsplit_once('@').map_or(authority, |(_, rest)| rest);
    let (host, port) = match authority.strip_prefix('[').and_then(|rest| rest.split_once(']')) {
        Some((host, rest)) => (host, rest.strip_prefix(':')),
        None => match authority.split_once(':') {
            Some((host, port)) if !port.contains(':') => (host, Some(port)),
            _ => (authority, None),
        },
    };
    let port = port.and_then(|port| port.parse().ok());
    let (at, is_private) = if let Some(four) = four_numbers(host) {
        (four.to_string(), is_private(four))
    } else if let Ok(six) = host.split('%').next().unwrap_or_default().parse::<Ipv6Addr>() {
        match six.to_ipv4_mapped() {
            Some(four) => (four.to_string(), is_private(four)),
            None => (six.to_string(), six.is_unique_local() || six.is_unicast_link_local()),
        }
    } else {
        (host.trim_end_matches('.').to_owned(), false)
    };
    NormalizedAddress { at, port, is_private }
}

/// Parses an IPv4 address whose numbers may have leading zeros.
fn four_numbers(host: &str) -> Option<Ipv4Addr> {
    let mut parts = host.split('.').map(|part| {
        let is_number = !part.is_empty() && part.bytes().all(|digit| digit.is_ascii_digit());
        part.parse::<u8>().ok().filter(|_| is_number)
    });
    let mut next = || parts.next().flatten();
    let (a, b, c, d) = (next()?, next()?, next()?, next()?);
    parts.next().is_none().then(|| Ipv4Addr::new(a, b, c, d))
}

/// Whether an address is reused in every network (RFC 1918, RFC 3927, RFC 6598).
fn is_private(address: Ipv4Addr) -> bool {
    let [first, second, ..] = address.octets();
    address.is_private() || address.is_link_local() || (first == 100 && second & 0b1100_0000 == 64)
}

#[cfg(test)]
mod tests {
    use super::{address, number};

    #[test]
    fn spellings_of_one_address_are_equal() {
        for (one, other) in [
            ("192.0.2.11", " 192.0.2.011 "),
            ("192.0.2.11", "http://192.0.2.11/status"),
            ("192.0.2.11", "::ffff:192.0.2.11"),
            ("2001:db8::1", "[2001:0DB8:0:0:0:0:0:1]"),
            ("2001:db8::1", "https://[2001:db8::1]/"),
            ("M1.Example", "m1.example."),
        ] {
            assert_eq!(address(one), address(other), "{one} {other}");
        }
        assert_eq!(address("192.0.2.11:502").at, "192.0.2.11");
        assert_eq!(address("192.0.2.11:502").port, Some(502));
        assert_eq!(address("[2001:db8::1]:502").port, Some(502));
        assert_ne!(address("192.0.2.11").at, address("192.0.2.110").at);
    }

    #[test]
    fn private_addresses_are_told_from_public_ones() {
        for private in [
            "10.0.0.5",
            "172.16.9.9",
            "192.168.1.10",
            "169.254.0.9",
            "100.64.0.1",
            "fd00::5",
            "fe80::1",
        ] {
            assert!(address(private).is_private, "{private}");
        }
        for public in ["192.0.2.11", "172.32.0.1", "100.128.0.1", "2001:db8::1", "m1.example"] {
            assert!(!address(public).is_private, "{public}");
        }
    }

    #[test]
    fn spellings_of_one_telephone_number_are_equal() {
        for written in [
            "+99 20 555 0100",
            "0099205550100",
            "tel:+99-20-555-0100",
            "+99 (0)20 555.0100",
            "+99/20/5550100",
        ] {
            assert_eq!(number(written), "+99205550100", "{written}");
        }
        assert_ne!(number("555 0100"), number("555 0101"));
    }
}
