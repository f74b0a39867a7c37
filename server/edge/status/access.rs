//! What is told to whoever is not let in, or asks about devices.
//!
//! It serves the table of errors next to it. A new reason does not compile until it has its place
//! here.

use fettlebook_contract::v1::ErrorReason;

use super::Told;
use crate::access::AccessError;

/// The reason of each error.
pub(super) fn told(error: &AccessError) -> Told {
    let (reason, field) = match error {
        AccessError::TokenMissing => (ErrorReason::TokenMissing, ""),
        AccessError::TokenUnknown => (ErrorReason::TokenUnknown, ""),
        AccessError::TokenOtherBook => (ErrorReason::TokenOtherBook, ""),
        AccessError::DeviceRevoked { .. } => (ErrorReason::DeviceRevoked, ""),
        AccessError::RoleTooLow { .. }
        | AccessError::NotOwnOfToday { .. }
        | AccessError::RoleLowered { .. } => (ErrorReason::RoleTooLow, ""),
        AccessError::CostForKeepers { .. } => (ErrorReason::RoleTooLow, "landed_cost"),
        AccessError::TriesUsedUp { .. } => (ErrorReason::TriesUsedUp, ""),
        AccessError::CodeUnknown => (ErrorReason::CodeUnknown, "code_secret"),
        AccessError::CodeExpired { .. } => (ErrorReason::CodeExpired, "code_secret"),
        AccessError::CodeUsed { .. } => (ErrorReason::CodeUsed, "code_secret"),
        AccessError::NameTaken { .. } => (ErrorReason::IdTaken, "name"),
        AccessError::NameKept { .. } => (ErrorReason::FieldInvalid, "name"),
        AccessError::DeviceUnknown { .. }
        | AccessError::DeviceGone { .. }
        | AccessError::NoOpenCode { .. } => (ErrorReason::DeviceUnknown, "name"),
        AccessError::LastOwner { .. } => (ErrorReason::LastOwner, "name"),
        AccessError::PairingFailed
        | AccessError::Astray { .. }
        | AccessError::Disk { .. }
        | AccessError::Damaged { .. }
        | AccessError::NoRandom
        | AccessError::Certificate { .. } => (ErrorReason::DiskFailed, ""),
    };
    let told = Told::new(reason, field, error.to_string(), error.todo());
    match error {
        AccessError::TriesUsedUp { wait } => told.retry_after(*wait),
        _ => told,
    }
}
