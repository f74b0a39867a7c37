//! Every number that a request can bring is held to the contract's bounds, and every field that can be
//! edited can be named.
//!
//! Method: the contract's own description is walked; for each number of each rpc one message is sent with
//! that number just below and one with it just above what the contract says can be true.

use fettlebook_contract::v1;
use prost::Message as _;
use prost_reflect::{
    DescriptorPool, DynamicMessage, FieldDescriptor, Kind, MessageDescriptor, MethodDescriptor,
    ReflectMessage as _, Value,
};
use tonic::Code;
use tonic_types::StatusExt as _;

use super::fuzz::Caller;
use super::{World, assert_told, coarse_foam, fresh};
use crate::edge::tests::Answered as _;

/// Rpcs whose numbers are held to their bounds by who parses them; they have tests of their own.
const PARSED: [&str; 7] = [
    "UpdateMake",
    "UpdateCar",
    "UpdateRoutine",
    "UpdateJob",
    "UpdateSupplier",
    "ImportPads",
    "Start",
];

pub(super) fn pool() -> DescriptorPool {
    DescriptorPool::decode(fettlebook_contract::DESCRIPTOR_SET).unwrap()
}

pub(super) fn methods(pool: &DescriptorPool) -> Vec<MethodDescriptor> {
    let services = pool.services();
    services
        .flat_map(|service| service.methods().collect::<Vec<_>>())
        .collect()
}

/// What the contract says of a field beside its type.
fn rule(pool: &DescriptorPool, field: &FieldDescriptor) -> v1::FieldRule {
    let option = pool.get_extension_by_name("fettlebook.v1.field").unwrap();
    let options = field.options();
    let rule = options.get_extension(&option);
    let rule = rule.as_message().unwrap();
    v1::FieldRule::decode(rule.encode_to_vec().as_slice()).unwrap()
}

/// Paths to every number of a message, each a list of fields.
fn numbers(pool: &DescriptorPool, message: &MessageDescriptor) -> Vec<Vec<FieldDescriptor>> {
    let mut found = Vec::new();
    for field in message.fields() {
        if rule(pool, &field).standing() == v1::Standing::Own {
            continue;
        }
        match field.kind() {
            Kind::Message(inner) if inner.full_name().starts_with("fettlebook.") => {
                for mut path in numbers(pool, &inner) {
                    path.insert(0, field.clone());
                    found.push(path);
                }
            }
            Kind::Int32 | Kind::Int64 | Kind::Double => found.push(vec![field]),
            _ => {}
        }
    }
    found
}

/// A message with nothing but this number in it.
fn with_number(kind: MessageDescriptor, path: &[FieldDescriptor], number: i64) -> DynamicMessage {
    let mut message = DynamicMessage::new(kind);
    let (field, rest) = path.split_first().unwrap();
    let value = match field.kind() {
        Kind::Message(inner) => Value::Message(with_number(inner, rest, number)),
        Kind::Int32 => Value::I32(number.try_into().unwrap()),
        _ => Value::I64(number),
    };
    let value = if field.is_list() {
        Value::List(vec![value])
    } else {
        value
    };
    message.set_field(field, value);
    message
}

fn name(path: &[FieldDescriptor]) -> String {
    let names: Vec<&str> = path.iter().map(|field| field.name()).collect();
    names.join(".")
}

#[tokio::test]
async fn every_number_of_every_rpc_is_refused_outside_its_bounds_and_named() {
    let (world, pool) = (World::shop().await, pool());
    let before = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    let mut tried = 0;
    for method in methods(&pool) {
        if PARSED.contains(&method.name()) {
            continue;
        }
        for path in numbers(&pool, &method.input()) {
            let field = path.last().unwrap();
            let name = format!("{} of {}", name(&path), method.name());
            let bounds = rule(&pool, field).bounds;
            let bounds = bounds.unwrap_or_else(|| panic!("{name} has no bounds"));
            let (least, most) = match field.kind() {
                Kind::Int32 => (i64::from(i32::MIN), i64::from(i32::MAX)),
                _ => (i64::MIN, i64::MAX),
            };
            let below = (bounds.least > least).then(|| bounds.least - 1);
            let above = (bounds.most < most).then(|| bounds.most + 1);
            for number in below.into_iter().chain(above) {
                let mut message = with_number(method.input(), &path, number);
                if let Some(id) = method.input().get_field_by_name("request_id") {
                    message.set_field(&id, Value::String(fresh()));
                }
                let answer = Caller::new(world.service.channel())
                    .call(&method, message.encode_to_vec())
                    .await;
                let status = answer.expect_err(&name);
                assert_eq!(status.code(), Code::InvalidArgument, "{name}: {status:?}");
                let told = status.get_details_bad_request().expect(&name);
                let named = told.field_violations.iter().map(|one| one.field.as_str());
                assert!(
                    named.clone().any(|field| name.starts_with(field)),
                    "{name}: {:?}",
                    named.collect::<Vec<_>>()
                );
                tried += 1;
            }
        }
    }
    assert!(tried > 150, "{tried} numbers were tried");
    let after = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    assert_eq!(before.into_inner(), after.into_inner());
}

#[tokio::test]
async fn every_number_that_is_wrong_is_told_at_once() {
    let world = World::shop().await;
    let log = v1::LogUseRequest {
        request_id: fresh(),
        dropped_towel_count: -1,
        loose: Some(v1::LooseUse {
            section_count: 1,
            step: Some(v1::Step {
                speed_per_min: Some(i64::MAX),
                side_mm: Some(0),
                ..Default::default()
            }),
            ..Default::default()
        }),
        ..Default::default()
    };
    let status = world.jobs().log_use(log).await.unwrap_err();
    let told = status.get_details_bad_request().unwrap();
    let fields: Vec<&str> = told
        .field_violations
        .iter()
        .map(|one| one.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "dropped_towel_count",
            "loose.step.pad_make",
            "loose.step.liquid_make",
            "loose.step.side_mm",
            "loose.step.speed_per_min",
            // A loose use has no plan to correct.
            "dropped_towel_count",
        ]
    );
    assert_told(&status, "QUANTITY_INVALID", "dropped_towel_count");
}

#[tokio::test]
async fn an_edit_is_held_to_the_same_bounds() {
    let world = World::shop().await;
    for face_mm in [9, 301] {
        let request = v1::UpdateMakeRequest {
            request_id: fresh(),
            make: Some(coarse_foam("coarse-foam-150", face_mm)),
            update_mask: None,
        };
        let status = world.kit().update_make(request).await.unwrap_err();
        assert_told(&status, "QUANTITY_INVALID", "make.pad.face_mm");
    }
}

/// Every field of what can be edited is named by some mask, unless the contract says whose it is.
#[tokio::test]
async fn every_field_that_is_not_settled_can_be_edited() {
    let pool = pool();
    for method in methods(&pool) {
        let input = method.input();
        if input.get_field_by_name("update_mask").is_none() {
            continue;
        }
        let edited = input
            .fields()
            .find_map(|field| match field.kind() {
                Kind::Message(inner) if inner.full_name().starts_with("fettlebook.") => Some(inner),
                _ => None,
            })
            .unwrap();
        let world = World::supplied().await;
        for field in edited.fields() {
            let mut message = DynamicMessage::new(input.clone());
            let part = input
                .fields()
                .find(|one| matches!(one.kind(), Kind::Message(inner) if inner == edited))
                .unwrap();
            message.set_field(&part, Value::Message(DynamicMessage::new(edited.clone())));
            let id = edited
                .fields()
                .find(|field| rule(&pool, field).standing() == v1::Standing::Settled);
            let known = match edited.name() {
                "Make" => "coarse-foam-150",
                "Car" => "medium-saloon-silver",
                "Routine" => "one-step",
                "Job" => "saloon-thursday",
                _ => "tern-quay",
            };
            let inner = message.get_field_mut(&part).as_message_mut().unwrap();
            inner.set_field(&id.unwrap(), Value::String(known.to_owned()));
            let mask = input.get_field_by_name("update_mask").unwrap();
            let Kind::Message(mask_kind) = mask.kind() else {
                panic!()
            };
            let mut paths = DynamicMessage::new(mask_kind);
            paths.set_field_by_name(
                "paths",
                Value::List(vec![Value::String(field.name().to_owned())]),
            );
            message.set_field(&mask, Value::Message(paths));
            message.set_field_by_name("request_id", Value::String(fresh()));
            let answer = Caller::new(world.service.channel())
                .call(&method, message.encode_to_vec())
                .await;
            let refused = answer.err().and_then(|status| {
                let info = status.get_details_error_info()?;
                (info.reason == "FIELD_MASK_INVALID").then_some(info.reason)
            });
            let free = rule(&pool, &field).standing() == v1::Standing::Unspecified;
            let name = field.full_name();
            assert_eq!(
                refused.is_none(),
                free,
                "{name}: {}",
                message.descriptor().name()
            );
        }
    }
}

#[tokio::test]
async fn the_second_of_two_editors_is_told_what_the_first_changed() {
    let world = World::shop().await;
    let read = world
        .kit()
        .get_make(v1::GetMakeRequest {
            make: "coarse-foam-150".to_owned(),
        })
        .answer()
        .await
        .make
        .unwrap();
    let edit = |note: &str, load: Option<i64>| {
        let mut make = coarse_foam("coarse-foam-150", 150);
        make.note = note.to_owned();
        make.etag.clone_from(&read.etag);
        if let Some(v1::make::Figures::Pad(pad)) = &mut make.figures {
            pad.load_sections = load;
        }
        v1::UpdateMakeRequest {
            request_id: fresh(),
            make: Some(make),
            update_mask: None,
        }
    };
    let first = edit("by the first", Some(12));
    world.kit().update_make(first.clone()).await.unwrap();
    let status = world.kit().update_make(edit("by the second", None)).await;
    let status = status.unwrap_err();
    assert_told(&status, "CHANGED_MEANWHILE", "etag");
    for changed in ["note", "pad.load_sections"] {
        assert!(status.message().contains(changed), "{}", status.message());
    }
    assert!(
        !status.message().contains("face_mm"),
        "{}",
        status.message()
    );
    // A retry of the first is no stale edit.
    world.kit().update_make(first).await.unwrap();
    let now = world
        .kit()
        .get_make(v1::GetMakeRequest {
            make: "coarse-foam-150".to_owned(),
        })
        .answer()
        .await
        .make
        .unwrap();
    assert_eq!(now.note, "by the first");
    assert_ne!(now.etag, read.etag);
}
