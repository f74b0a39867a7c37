//! Who may call the rpc of a path, as the contract says it.
//!
//! Of the rpcs that are not of the contract anyone may ask for the health of the service; reflection, and what
//! nobody knows, is let through to devices only.

use std::sync::LazyLock;

use fettlebook_contract::call::{RPCS, Rpc};
use fettlebook_contract::v1;
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

static BY_PATH: LazyLock<FxHashMap<&str, Least>> =
    LazyLock::new(|| RPCS.iter().map(|rpc| (rpc.path, of(rpc))).collect());

/// The rpcs about health, which whoever keeps the service running asks without a token.
const HEALTH: [&str; 2] = [
    "/grpc.health.v1.Health/Check",
    "/grpc.health.v1.Health/Watch",
];

/// Whether the rpc of a path is about health.
pub(super) fn is_of_health(path: &str) -> bool {
    HEALTH.contains(&path)
}

/// Who may call the rpc of a path.
pub(super) fn least(path: &str) -> Least {
    match BY_PATH.get(path) {
        Some(known) => *known,
        None if is_of_health(path) => Least::Anyone,
        None => Least::Role(Role::Look),
    }
}

/// Who may call an rpc of the contract.
pub(super) fn of(rpc: &Rpc) -> Least {
    match rpc.least_role {
        None => Least::Anyone,
        Some(v1::Role::Look) => Least::Role(Role::Look),
        Some(v1::Role::Work) => Least::Role(Role::Work),
        Some(v1::Role::Keep) => Least::Role(Role::Keep),
        // The contract is not built with a role that is not said; were it, nobody less may.
        Some(v1::Role::Own | v1::Role::Unspecified) => Least::Role(Role::Own),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The one list of who may call what and what each rpc does, so that a change of the contract's
    /// options is read by a person. Source: the contract's options.
    #[test]
    fn who_may_call_what_is_as_it_was_decided() {
        let line = |rpc: &Rpc| {
            let who = match of(rpc) {
                Least::Anyone => "anyone".to_owned(),
                Least::Role(role) => role.word().to_owned(),
            };
            let path = rpc.path.trim_start_matches("/fettlebook.v1.");
            format!("{who:<7}{:<14}{path}", format!("{:?}", rpc.kind))
        };
        let lines: Vec<String> = RPCS.iter().map(line).collect();
        insta::assert_snapshot!(lines.join("\n"), @r"
        look   Reads         BookService/GetBook
        look   Reads         BookService/ListEntries
        look   Reads         BookService/GetEntry
        work   Writes        BookService/ReverseEntry
        look   ReadsService  BookService/VerifyBook
        own    ReadsService  BookService/BackupBook
        own    Writes        BookService/NoteBackup
        look   ReadsService  BookService/GetCondition
        work   ReadsService  BookService/CompareHead
        look   ReadsService  BookService/CopyEntries
        look   Reads         BookService/GetPolicy
        own    Writes        BookService/UpdatePolicy
        keep   Writes        BookService/ImportPads
        look   Reads         BookService/ListStarterKits
        keep   Writes        BookService/Start
        look   ReadsService  BookService/WatchEntries
        look   ReadsService  BookService/ListShops
        own    Writes        AccessService/InviteDevice
        anyone Writes        AccessService/PairDevice
        own    ReadsService  AccessService/ListCodes
        own    Writes        AccessService/WithdrawCode
        own    ReadsService  AccessService/ListDevices
        own    Writes        AccessService/UpdateDevice
        own    Writes        AccessService/RevokeDevice
        keep   Writes        JobService/CreateCar
        look   Reads         JobService/GetCar
        look   Reads         JobService/ListCars
        keep   Writes        JobService/UpdateCar
        work   Keepable      JobService/RecordFilm
        keep   Writes        JobService/CreateRoutine
        look   Reads         JobService/GetRoutine
        look   Reads         JobService/ListRoutines
        keep   Writes        JobService/UpdateRoutine
        keep   Writes        JobService/BookJob
        look   Reads         JobService/GetJob
        look   Reads         JobService/ListJobs
        keep   Writes        JobService/UpdateJob
        keep   Writes        JobService/CallOffJob
        look   Reads         JobService/PlanJob
        look   Reads         JobService/CheckJobs
        look   Reads         JobService/GetToday
        work   Keepable      JobService/TakeJob
        work   Keepable      JobService/LogUse
        keep   Writes        KitService/CreateMake
        look   Reads         KitService/GetMake
        look   Reads         KitService/ListMakes
        keep   Writes        KitService/UpdateMake
        work   Keepable      KitService/ReceiveKit
        look   Reads         KitService/GetPiece
        look   Reads         KitService/ListPieces
        work   Keepable      KitService/MoveKit
        work   Keepable      KitService/WashKit
        work   Keepable      KitService/MarkDry
        work   Keepable      KitService/WeighBottles
        work   Keepable      KitService/FillBottle
        work   Keepable      KitService/CountKit
        work   Keepable      KitService/SetAside
        work   Keepable      KitService/ReturnKit
        work   Keepable      KitService/BinKit
        work   Keepable      KitService/DemoteTowels
        work   Keepable      KitService/MarkLabelled
        work   Keepable      KitService/ChargeBatteries
        look   Reads         KitService/ListMakeWear
        look   Reads         KitService/GetPieceLife
        look   Reads         KitService/ListPieceWear
        look   Reads         KitService/GetKitBudget
        keep   Writes        SupplyService/CreateSupplier
        keep   Reads         SupplyService/GetSupplier
        keep   Reads         SupplyService/ListSuppliers
        keep   Writes        SupplyService/UpdateSupplier
        keep   Reads         SupplyService/ListReorder
        keep   Writes        SupplyService/CreateOrder
        keep   Reads         SupplyService/GetOrder
        keep   Reads         SupplyService/ListOrders
        keep   Writes        SupplyService/PlaceOrder
        keep   Writes        SupplyService/CloseOrder
        keep   Writes        SupplyService/ReceiveOrder
        keep   Reads         SupplyService/GetJobCost
        keep   Reads         SupplyService/QuoteJob
        ");
    }

    #[test]
    fn of_the_contract_pairing_alone_is_open_and_what_is_unknown_is_not() {
        let open: Vec<&str> = RPCS
            .iter()
            .filter(|rpc| of(rpc) == Least::Anyone)
            .map(|rpc| rpc.path)
            .collect();
        assert_eq!(open, ["/fettlebook.v1.AccessService/PairDevice"]);
        let look = Least::Role(Role::Look);
        for unknown in [
            "/fettlebook.v1.KitService/NoSuchRpc",
            "/grpc.health.v1.Health/NoSuchRpc",
            "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo",
            "",
        ] {
            assert_eq!(least(unknown), look, "{unknown}");
        }
    }

    /// Money is for those who keep the book: no rpc of suppliers, orders, costs and quotes is open to
    /// less.
    #[test]
    fn whoever_may_not_see_prices_reaches_no_rpc_of_supply() {
        for rpc in RPCS {
            if rpc.path.starts_with("/fettlebook.v1.SupplyService/") {
                let Least::Role(role) = least(rpc.path) else {
                    panic!("{} is open", rpc.path)
                };
                assert!(role.sees_prices(), "{}", rpc.path);
            }
        }
    }
}
