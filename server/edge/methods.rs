//! The methods that the service knows, by name: those of the contract, of health and of reflection.
//!
//! What is counted and logged goes by these names: a name that a caller made up must not become one
//! of ours.

use std::sync::LazyLock;

use fettlebook_contract::call::RPCS;
use prost::Message as _;
use prost_types::FileDescriptorSet;
use rustc_hash::FxHashSet;

/// Stands for every method that the service does not know.
const OTHER: &str = "other";

/// Every method, such as `fettlebook.v1.KitService/WashKit`.
static KNOWN: LazyLock<FxHashSet<String>> = LazyLock::new(|| {
    let ours = RPCS.iter().map(|rpc| rpc.path.trim_start_matches('/'));
    ours.map(str::to_owned).chain(usual()).collect()
});

/// The methods of health and reflection.
fn usual() -> Vec<String> {
    let sets = [
        tonic_health::pb::FILE_DESCRIPTOR_SET,
        tonic_reflection::pb::v1::FILE_DESCRIPTOR_SET,
        tonic_reflection::pb::v1alpha::FILE_DESCRIPTOR_SET,
    ];
    let mut usual = Vec::new();
    for set in sets {
        // Compiled in; were it not readable, every method would count as another.
        let set = FileDescriptorSet::decode(set).unwrap_or_default();
        for file in &set.file {
            for service in &file.service {
                for method in &service.method {
                    let (package, service) = (file.package(), service.name());
                    usual.push(format!("{package}.{service}/{}", method.name()));
                }
            }
        }
    }
    usual
}

/// The name of a known method with this path, without the slash before it.
pub(super) fn known(path: &str) -> &'static str {
    KNOWN.get(path).map_or(OTHER, String::as_str)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn our_methods_and_those_of_the_usual_services_are_known_and_no_others() {
        for path in [
            "fettlebook.v1.KitService/WashKit",
            "fettlebook.v1.BookService/WatchEntries",
            "grpc.health.v1.Health/Check",
            "grpc.reflection.v1.ServerReflection/ServerReflectionInfo",
            "grpc.reflection.v1alpha.ServerReflection/ServerReflectionInfo",
        ] {
            assert_eq!(known(path), path);
        }
        for path in ["", "fettlebook.v1.KitService/Wash", "other"] {
            assert_eq!(known(path), OTHER, "{path}");
        }
    }
}
