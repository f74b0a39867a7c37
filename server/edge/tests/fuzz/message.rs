//! Messages made from the contract's own description, sensible enough to get far.
//!
//! It serves the fuzzing of the edge. What a field holds goes by its name, so that most ids are known
//! ones and most figures possible; a field that is added to the contract is filled without a word
//! here.

use std::collections::HashMap;

use fettlebook_contract::{DESCRIPTOR_SET, v1};
use prost_reflect::{
    DescriptorPool, DynamicMessage, FieldDescriptor, Kind, MessageDescriptor, MethodDescriptor,
    ReflectMessage as _, Value,
};
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use super::values::{JOBS, MAKES, ODD, ODD_TEXTS, SUPPLIERS, figure, pick, text, timestamp};
use crate::edge::tests::{job, makes, one_step, saloon};

/// How deep messages nest; none of ours go further.
const DEPTH_MAX: usize = 6;
/// Chances in a hundred: that a field is filled, that one which most calls need is, that the job of a
/// use is, that a field of a sensible example is filled anew, and that a message which has sensible
/// examples starts from one.
const FILLED: u32 = 25;
const NEEDED: u32 = 96;
const HALF: u32 = 60;
const EDITED: u32 = 5;
const FROM_EXAMPLE: u32 = 90;
/// Items of a list.
const ITEMS_MAX: usize = 3;

/// Makes messages.
pub(super) struct Maker {
    methods: Vec<MethodDescriptor>,
    examples: HashMap<String, Vec<DynamicMessage>>,
}

impl Maker {
    pub(super) fn new() -> Self {
        let pool = DescriptorPool::decode(DESCRIPTOR_SET).unwrap();
        let ours = pool
            .services()
            .filter(|service| service.package_name() == "fettlebook.v1");
        let unary = |method: &MethodDescriptor| {
            !method.is_client_streaming() && !method.is_server_streaming()
        };
        let methods: Vec<_> = ours
            .flat_map(|service| service.methods().collect::<Vec<_>>())
            .filter(unary)
            .collect();
        let mut maker = Self {
            methods,
            examples: HashMap::new(),
        };
        maker.learn(&pool, makes());
        maker.learn(&pool, [saloon()]);
        maker.learn(&pool, [one_step()]);
        maker.learn(&pool, JOBS.iter().map(|id| job(id)));
        maker.learn(&pool, SUPPLIERS.iter().map(|id| supplier(id)));
        maker.learn(&pool, [eur("12.50"), eur("0.01"), eur("289")]);
        maker
    }

    /// Every rpc that takes one message and gives one.
    pub(super) fn methods(&self) -> &[MethodDescriptor] {
        &self.methods
    }

    /// One of them, oftener one that changes the book.
    pub(super) fn method(&self, rng: &mut ChaCha8Rng) -> &MethodDescriptor {
        let changes = rng.random_range(0..4) > 0;
        loop {
            let method = &self.methods[rng.random_range(0..self.methods.len())];
            if !changes || method.input().get_field_by_name("request_id").is_some() {
                break method;
            }
        }
    }

    fn learn<M: prost::Message + prost::Name>(
        &mut self,
        pool: &DescriptorPool,
        examples: impl IntoIterator<Item = M>,
    ) {
        let descriptor = pool.get_message_by_name(&M::full_name()).unwrap();
        let read = |example: M| {
            DynamicMessage::decode(descriptor.clone(), example.encode_to_vec().as_slice()).unwrap()
        };
        self.examples
            .insert(M::full_name(), examples.into_iter().map(read).collect());
    }

    /// A message of this kind.
    pub(super) fn message(&self, kind: &MessageDescriptor, rng: &mut ChaCha8Rng) -> DynamicMessage {
        self.nested(kind, 0, rng)
    }

    fn nested(
        &self,
        kind: &MessageDescriptor,
        depth: usize,
        rng: &mut ChaCha8Rng,
    ) -> DynamicMessage {
        let examples = self
            .examples
            .get(kind.full_name())
            .filter(|_| rng.random_ratio(FROM_EXAMPLE, 100));
        let mut message = match examples {
            Some(examples) => {
                let example = examples[rng.random_range(0..examples.len())].clone();
                renamed(example, rng)
            }
            None => DynamicMessage::new(kind.clone()),
        };
        for field in kind.fields() {
            // Of fields that exclude each other the last one stands; any may be it.
            let skipped = field.containing_oneof().is_some_and(|one| {
                one.fields().len() > 1 && rng.random_range(0..one.fields().len()) > 0
            });
            let chance = match chance(&field) {
                needed if examples.is_none() => needed,
                _ => EDITED,
            };
            if depth < DEPTH_MAX && !skipped && rng.random_ratio(chance, 100) {
                let value = self.field(&field, depth, rng);
                message.set_field(&field, value);
            }
        }
        mask(&mut message, rng);
        message
    }

    fn field(&self, field: &FieldDescriptor, depth: usize, rng: &mut ChaCha8Rng) -> Value {
        if field.is_list() {
            let count = rng.random_range(1..=ITEMS_MAX) - usize::from(rng.random_ratio(ODD, 100));
            return Value::List((0..count).map(|_| self.value(field, depth, rng)).collect());
        }
        self.value(field, depth, rng)
    }

    fn value(&self, field: &FieldDescriptor, depth: usize, rng: &mut ChaCha8Rng) -> Value {
        match field.kind() {
            Kind::Message(kind) if kind.full_name() == "google.protobuf.Timestamp" => {
                Value::Message(timestamp(&kind, field.name(), rng))
            }
            Kind::Message(kind) => Value::Message(self.nested(&kind, depth + 1, rng)),
            Kind::String => Value::String(text(field, rng)),
            Kind::Bool => Value::Bool(rng.random()),
            Kind::Int64 | Kind::Sint64 | Kind::Sfixed64 => Value::I64(figure(rng)),
            Kind::Int32 | Kind::Sint32 | Kind::Sfixed32 => Value::I32(figure(rng) as i32),
            Kind::Uint64 | Kind::Fixed64 => Value::U64(figure(rng) as u64),
            Kind::Uint32 | Kind::Fixed32 => Value::U32(figure(rng) as u32),
            Kind::Double => {
                Value::F64(pick(&[0.0, 0.5, -1.0, 1e300, f64::NAN, f64::INFINITY], rng))
            }
            Kind::Float => Value::F32(0.5),
            Kind::Bytes => Value::Bytes(pick(ODD_TEXTS, rng).into()),
            Kind::Enum(kind) if rng.random_ratio(ODD, 100) => {
                Value::EnumNumber(kind.values().len() as i32 + 40)
            }
            Kind::Enum(kind) => {
                let numbers: Vec<i32> = kind.values().map(|value| value.number()).collect();
                let first = usize::from(numbers.len() > 1 && !rng.random_ratio(ODD, 100));
                Value::EnumNumber(pick(&numbers[first..], rng))
            }
        }
    }
}

/// Gives an example that has an id another one, now and then, so that it can be set up beside it.
fn renamed(mut example: DynamicMessage, rng: &mut ChaCha8Rng) -> DynamicMessage {
    let id = example.descriptor().name().to_lowercase();
    let held = example
        .get_field_by_name(&id)
        .map(std::borrow::Cow::into_owned);
    if let (Some(Value::String(held)), true) = (held, rng.random()) {
        let number = rng.random_range(1..4);
        example.set_field_by_name(&id, Value::String(format!("{held}-{number}")));
    }
    example
}

/// How often a field is filled.
fn chance(field: &FieldDescriptor) -> u32 {
    let kind = field.parent_message();
    let is_request = kind.name().ends_with("Request");
    let needed = match field.name() {
        "request_id" | "tag" | "tags" | "make" | "place" | "supplier" | "order" | "job" | "seq"
        | "bottle" | "reason" | "grade" | "gross_mg" | "changes" | "weighings" | "rows"
        | "lines" | "car" | "routine" | "key" | "bundle" | "pack_count" | "used_count"
        | "amount" | "currency_code" => true,
        "piece_count" => is_request,
        _ => false,
    };
    // A use is of a job as it was planned, or of none.
    match (kind.name(), field.name()) {
        ("LogUseRequest", "job") => HALF,
        ("LogUseRequest", "request_id") => NEEDED,
        ("LogUseRequest", _) => FILLED / 2,
        _ if needed => NEEDED,
        _ => FILLED,
    }
}

fn eur(amount: &str) -> v1::Money {
    v1::Money {
        amount: amount.to_owned(),
        currency_code: "EUR".to_owned(),
    }
}

fn supplier(id: &str) -> v1::Supplier {
    let offers = MAKES[..6].iter().map(|make| v1::Offer {
        make: (*make).to_owned(),
        pack_count: 2,
        breaks: vec![v1::PriceBreak {
            from_pack_count: 1,
            price: Some(eur("12.50")),
        }],
    });
    v1::Supplier {
        supplier: id.to_owned(),
        name: id.to_owned(),
        lead_days: 3,
        free_delivery_from: Some(eur("80")),
        freight: Some(eur("6.90")),
        offers: offers.collect(),
        ..Default::default()
    }
}

/// Names some fields of the message beside the mask.
fn mask(message: &mut DynamicMessage, rng: &mut ChaCha8Rng) {
    let kind = message.descriptor();
    let is_mask = |field: &FieldDescriptor| matches!(field.kind(), Kind::Message(kind) if kind.full_name() == "google.protobuf.FieldMask");
    let Some(field) = kind.fields().find(is_mask) else {
        return;
    };
    let beside = kind.fields().find_map(|field| match field.kind() {
        Kind::Message(kind) if !is_mask(&field) => Some(kind),
        _ => None,
    });
    let mut names: Vec<String> = beside
        .iter()
        .flat_map(|kind| {
            kind.fields()
                .map(|field| field.name().to_owned())
                .collect::<Vec<_>>()
        })
        .collect();
    names.extend(["*".to_owned(), "no_such_field".to_owned()]);
    let paths = (0..rng.random_range(0..4))
        .map(|_| Value::String(names[rng.random_range(0..names.len())].clone()));
    let Kind::Message(kind) = field.kind() else {
        return;
    };
    let mut mask = DynamicMessage::new(kind);
    mask.set_field_by_name("paths", Value::List(paths.collect()));
    message.set_field(&field, Value::Message(mask));
}
