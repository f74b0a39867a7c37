//! Policies on the wire.
//!
//! It serves `GetPolicy`.

use fettlebook_contract::v1;
use fettlebook_model::policy::{Policy, PolicyKey};

use crate::edge::prices::Prices;
use crate::edge::words;

/// Every policy that may be shown, its value and where that comes from.
pub(in crate::edge) fn lines(policy: &Policy, prices: Prices) -> Vec<v1::PolicyLine> {
    PolicyKey::ALL
        .iter()
        .filter(|key| prices == Prices::Shown || !key.is_price())
        .map(|key| line(policy, *key))
        .collect()
}

fn line(policy: &Policy, key: PolicyKey) -> v1::PolicyLine {
    let spec = key.spec();
    let value = policy.value(key);
    v1::PolicyLine {
        key: spec.name.to_owned(),
        value,
        default_value: spec.default,
        unit: spec.unit.to_owned(),
        basis: if value == spec.default {
            words::basis_word(spec.basis)
        } else {
            v1::Basis::Own.into()
        },
        meaning: spec.meaning.to_owned(),
        group: spec.group.to_owned(),
        rank: key.rank().map_or(0, super::count),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_policy_is_listed_and_a_changed_one_is_the_users_own() {
        let mut policy = Policy::default();
        policy.put(PolicyKey::DotUl, Some(300));
        let lines = lines(&policy, Prices::Shown);
        assert_eq!(lines.len(), PolicyKey::ALL.len());
        let own: Vec<_> = lines
            .iter()
            .filter(|line| line.basis == i32::from(v1::Basis::Own))
            .collect();
        assert_eq!(own.len(), 1);
        assert_eq!(
            (own[0].key.as_str(), own[0].value, own[0].default_value),
            ("dot_ul", 300, 250)
        );
    }
}
