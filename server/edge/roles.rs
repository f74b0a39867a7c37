//! The one table from each rpc to the least role that may call it.
//!
//! It serves the guard. An rpc that is not in the table is not let through to anyone without a
//! token; a test walks the contract and fails when one is missing here, or is here and nowhere else.

use std::sync::LazyLock;

use rustc_hash::FxHashMap;

use crate::access::Role;

/// Who may call an rpc.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Least {
    /// Anyone, without a token.
    Anyone,
    /// A device of this role or a higher one.
    Role(Role),
}

use Least::{Anyone, Role as AtLeast};
use Role::{Keep, Look, Own, Work};

/// Each rpc, by its path, with the least role.
pub(super) const TABLE: &[(&str, Least)] = &[
    ("/fettlebook.v1.KitService/CreateMake", AtLeast(Keep)),
    ("/fettlebook.v1.KitService/GetMake", AtLeast(Look)),
    ("/fettlebook.v1.KitService/ListMakes", AtLeast(Look)),
    ("/fettlebook.v1.KitService/UpdateMake", AtLeast(Keep)),
    ("/fettlebook.v1.KitService/ReceiveKit", AtLeast(Work)),
    ("/fettlebook.v1.KitService/GetPiece", AtLeast(Look)),
    ("/fettlebook.v1.KitService/ListPieces", AtLeast(Look)),
    ("/fettlebook.v1.KitService/MoveKit", AtLeast(Work)),
    ("/fettlebook.v1.KitService/WashKit", AtLeast(Work)),
    ("/fettlebook.v1.KitService/MarkDry", AtLeast(Work)),
    ("/fettlebook.v1.KitService/WeighBottles", AtLeast(Work)),
    ("/fettlebook.v1.KitService/CountKit", AtLeast(Work)),
    ("/fettlebook.v1.KitService/SetAside", AtLeast(Work)),
    ("/fettlebook.v1.KitService/ReturnKit", AtLeast(Work)),
    ("/fettlebook.v1.KitService/BinKit", AtLeast(Work)),
    ("/fettlebook.v1.KitService/DemoteTowels", AtLeast(Work)),
    ("/fettlebook.v1.KitService/ListMakeWear", AtLeast(Look)),
    ("/fettlebook.v1.KitService/GetPieceLife", AtLeast(Look)),
    ("/fettlebook.v1.JobService/CreateCar", AtLeast(Keep)),
    ("/fettlebook.v1.JobService/GetCar", AtLeast(Look)),
    ("/fettlebook.v1.JobService/ListCars", AtLeast(Look)),
    ("/fettlebook.v1.JobService/UpdateCar", AtLeast(Keep)),
    ("/fettlebook.v1.JobService/CreateRoutine", AtLeast(Keep)),
    ("/fettlebook.v1.JobService/GetRoutine", AtLeast(Look)),
    ("/fettlebook.v1.JobService/ListRoutines", AtLeast(Look)),
    ("/fettlebook.v1.JobService/UpdateRoutine", AtLeast(Keep)),
    ("/fettlebook.v1.JobService/BookJob", AtLeast(Keep)),
    ("/fettlebook.v1.JobService/GetJob", AtLeast(Look)),
    ("/fettlebook.v1.JobService/ListJobs", AtLeast(Look)),
    ("/fettlebook.v1.JobService/UpdateJob", AtLeast(Keep)),
    ("/fettlebook.v1.JobService/CallOffJob", AtLeast(Keep)),
    ("/fettlebook.v1.JobService/PlanJob", AtLeast(Look)),
    ("/fettlebook.v1.JobService/CheckJobs", AtLeast(Look)),
    ("/fettlebook.v1.JobService/LogUse", AtLeast(Work)),
    ("/fettlebook.v1.BookService/GetBook", AtLeast(Look)),
    ("/fettlebook.v1.BookService/ListEntries", AtLeast(Look)),
    ("/fettlebook.v1.BookService/GetEntry", AtLeast(Look)),
    ("/fettlebook.v1.BookService/ReverseEntry", AtLeast(Keep)),
    ("/fettlebook.v1.BookService/VerifyBook", AtLeast(Look)),
    ("/fettlebook.v1.BookService/BackupBook", AtLeast(Own)),
    ("/fettlebook.v1.BookService/CompareHead", AtLeast(Work)),
    ("/fettlebook.v1.BookService/CopyEntries", AtLeast(Look)),
    ("/fettlebook.v1.BookService/GetPolicy", AtLeast(Look)),
    ("/fettlebook.v1.BookService/UpdatePolicy", AtLeast(Own)),
    ("/fettlebook.v1.BookService/ImportPads", AtLeast(Keep)),
    ("/fettlebook.v1.BookService/WatchEntries", AtLeast(Look)),
    ("/fettlebook.v1.SupplyService/CreateSupplier", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/GetSupplier", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/ListSuppliers", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/UpdateSupplier", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/ListReorder", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/CreateOrder", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/GetOrder", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/ListOrders", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/PlaceOrder", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/CloseOrder", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/ReceiveOrder", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/GetJobCost", AtLeast(Keep)),
    ("/fettlebook.v1.SupplyService/QuoteJob", AtLeast(Keep)),
    ("/fettlebook.v1.AccessService/InviteDevice", AtLeast(Own)),
    ("/fettlebook.v1.AccessService/PairDevice", Anyone),
    ("/fettlebook.v1.AccessService/ListDevices", AtLeast(Own)),
    ("/fettlebook.v1.AccessService/UpdateDevice", AtLeast(Own)),
    ("/fettlebook.v1.AccessService/RevokeDevice", AtLeast(Own)),
    ("/grpc.health.v1.Health/Check", AtLeast(Look)),
    ("/grpc.health.v1.Health/Watch", AtLeast(Look)),
    (
        "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo",
        AtLeast(Look),
    ),
    (
        "/grpc.reflection.v1alpha.ServerReflection/ServerReflectionInfo",
        AtLeast(Look),
    ),
];

static BY_PATH: LazyLock<FxHashMap<&str, Least>> =
    LazyLock::new(|| TABLE.iter().copied().collect());

/// Who may call the rpc of a path. What the table does not know is answered as unknown, to devices
/// only.
pub(super) fn least(path: &str) -> Least {
    BY_PATH.get(path).copied().unwrap_or(AtLeast(Look))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use fettlebook_contract::DESCRIPTOR_SET;
    use prost_reflect::DescriptorPool;

    use super::*;

    /// Paths of every rpc that the service answers.
    fn served() -> BTreeSet<String> {
        let mut pool = DescriptorPool::decode(DESCRIPTOR_SET).unwrap();
        for set in [
            tonic_health::pb::FILE_DESCRIPTOR_SET,
            tonic_reflection::pb::v1::FILE_DESCRIPTOR_SET,
            tonic_reflection::pb::v1alpha::FILE_DESCRIPTOR_SET,
        ] {
            pool.decode_file_descriptor_set(set).unwrap();
        }
        let services: Vec<_> = pool.services().collect();
        let methods = services.iter().flat_map(|service| {
            let path = |name: &str| format!("/{}/{name}", service.full_name());
            let methods: Vec<_> = service.methods().map(|one| path(one.name())).collect();
            methods
        });
        methods.collect()
    }

    /// Source: the contract's own description, and those of health and reflection.
    #[test]
    fn every_rpc_is_in_the_table_once_and_nothing_else_is() {
        let told: Vec<String> = TABLE.iter().map(|(path, _)| (*path).to_owned()).collect();
        let once: BTreeSet<String> = told.iter().cloned().collect();
        assert_eq!(once.len(), told.len(), "an rpc is in the table twice");
        assert_eq!(once, served());
    }

    #[test]
    fn pairing_alone_is_open_and_what_is_unknown_is_not() {
        let open: Vec<&str> = TABLE
            .iter()
            .filter(|(_, least)| *least == Anyone)
            .map(|(path, _)| *path)
            .collect();
        assert_eq!(open, ["/fettlebook.v1.AccessService/PairDevice"]);
        assert_eq!(least("/fettlebook.v1.KitService/NoSuchRpc"), AtLeast(Look));
        assert_eq!(least(""), AtLeast(Look));
    }

    /// Money is for those who keep the book: no rpc of suppliers, orders, costs and quotes is open to
    /// less.
    #[test]
    fn whoever_may_not_see_prices_reaches_no_rpc_of_supply() {
        for (path, least) in TABLE {
            if path.starts_with("/fettlebook.v1.SupplyService/") {
                let Least::Role(role) = least else {
                    panic!("{path} is open")
                };
                assert!(role.sees_prices(), "{path}");
            }
        }
    }
}
