//! Request ids: made before a command is first sent, so that sending it again counts once.
//!
//! They serve every command that writes. An id is never taken for two commands.

use uuid::Uuid;

/// A fresh request id, UUID version 7.
pub(crate) fn new_id() -> String {
    Uuid::now_v7().to_string()
}
