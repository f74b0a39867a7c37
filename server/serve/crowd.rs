//! How many there are from where: of one place, and of the site around it.

use std::net::IpAddr;

use rustc_hash::FxHashMap;

use super::strangers::At;

/// How many there are from where.
#[derive(Debug, Default)]
pub(super) struct Crowd {
    sites: FxHashMap<IpAddr, usize>,
    places: FxHashMap<IpAddr, usize>,
}

impl Crowd {
    /// How many there are in a site, and of those in a place.
    pub(super) fn around(&self, at: At) -> (usize, usize) {
        let count = |all: &FxHashMap<IpAddr, usize>, of| all.get(&of).copied().unwrap_or_default();
        (count(&self.sites, at.site), count(&self.places, at.place))
    }

    /// One came.
    pub(super) fn add(&mut self, at: At) {
        *self.sites.entry(at.site).or_default() += 1;
        *self.places.entry(at.place).or_default() += 1;
    }

    /// One that came has gone.
    pub(super) fn take(&mut self, at: At) {
        for (all, of) in [(&mut self.sites, at.site), (&mut self.places, at.place)] {
            if let Some(count) = all.get_mut(&of) {
                *count = count.saturating_sub(1);
                if *count == 0 {
                    all.remove(&of);
                }
            }
        }
    }
}
