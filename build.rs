//! Compiles `proto/` into Rust with protox, so that no protoc has to be on the machine.
//!
//! Runs as the build script of the contract package (`proto/Cargo.toml` points here). Besides the
//! generated code it writes `fettlebook_calls.rs`, what `proto/call.rs` says of every rpc,
//! `fettlebook_numbers.rs`, what `proto/numbers.rs` says of every number of a request, and
//! `fettlebook_descriptor.bin`, the descriptor set that the client's JSON mapping reads, and
//! `fettlebook_described.bin`, the same with the contract's comments, which reflection serves. An rpc that the contract does not give a role and a kind is not built.

#[path = "proto/generate/numbers.rs"]
mod numbers;

use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

use protox::prost_reflect::{
    DescriptorPool, DynamicMessage, Kind, MessageDescriptor, MethodDescriptor, ReflectMessage as _,
    Value,
};

/// The option in which the contract says who may call an rpc and what it does.
const OPTION: &str = "fettlebook.v1.call";
/// Fields that every request which a device may keep has.
const KEPT_FIELDS: [&str; 4] = ["request_id", "done_time", "note", "kept"];

fn main() -> Result<(), Box<dyn Error>> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?);
    let folder = root.join("fettlebook/v1");
    for watched in [&folder, &root.join("google/api")] {
        println!("cargo::rerun-if-changed={}", watched.display());
    }
    let mut files = Vec::new();
    for entry in fs::read_dir(&folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == "proto") {
            files.push(path);
        }
    }
    files.sort();

    let commented = compile(&root, &files, true)?;
    let described = commented.file_descriptor_set();
    let mut config = prost_build::Config::new();
    config.enable_type_names();
    tonic_prost_build::configure().compile_fds_with_config(described, config)?;

    let out = PathBuf::from(env::var("OUT_DIR")?);
    let bare = compile(&root, &files, false)?;
    fs::write(
        out.join("fettlebook_descriptor.bin"),
        bare.encode_file_descriptor_set(),
    )?;
    fs::write(
        out.join("fettlebook_described.bin"),
        commented.encode_file_descriptor_set(),
    )?;
    fs::write(
        out.join("fettlebook_calls.rs"),
        calls(&bare.descriptor_pool())?,
    )?;
    fs::write(
        out.join("fettlebook_numbers.rs"),
        numbers::numbers(&bare.descriptor_pool())?,
    )?;
    Ok(())
}

/// Compiles the files with all that they import, with or without their comments.
fn compile(
    root: &Path,
    files: &[PathBuf],
    comments: bool,
) -> Result<protox::Compiler, Box<dyn Error>> {
    let mut compiler = protox::Compiler::new([root])?;
    compiler
        .include_imports(true)
        .include_source_info(comments)
        .open_files(files)?;
    Ok(compiler)
}

/// What `proto/call.rs` says of every rpc, as code.
fn calls(pool: &DescriptorPool) -> Result<String, Box<dyn Error>> {
    let mut table = String::new();
    let mut code = String::new();
    let mut keepable = Vec::new();
    for method in pool
        .services()
        .flat_map(|service| service.methods().collect::<Vec<_>>())
    {
        let rule = rule(pool, &method)?;
        let (request, answer) = (method.input(), method.output());
        let streamed = method.is_server_streaming();
        if method.is_client_streaming() {
            return Err(format!("{} takes a stream of requests", method.full_name()).into());
        }
        writeln!(table, "    <v1::{} as Call>::RPC,", request.name())?;
        code.push_str(&call(&method, &rule));
        let records = rule.kind == "Writes" || rule.kind == "Keepable";
        if records && !streamed && holds(&answer, "entry", "fettlebook.v1.Entry") {
            writeln!(
                code,
                "impl Recorded for v1::{} {{
    fn entry(&self) -> Option<&v1::Entry> {{ self.entry.as_ref() }}
}}",
                answer.name()
            )?;
        }
        if request.get_field_by_name("page_token").is_some() {
            code.push_str(&paged(&request, &answer)?);
        }
        if rule.kind == "Keepable" {
            keepable.push((method, request));
        }
    }
    code.push_str(&kept(&keepable)?);
    writeln!(
        code,
        "/// Every rpc of the contract.\npub const RPCS: &[Rpc] = &[\n{table}];"
    )?;
    Ok(code)
}

/// An rpc as a call.
fn call(method: &MethodDescriptor, rule: &Rule) -> String {
    let (request, answer) = (method.input(), method.output());
    let way = if method.is_server_streaming() {
        "Streamed"
    } else {
        "Unary"
    };
    format!(
        "impl Call for v1::{asked} {{
    type Answer = v1::{told};
    const RPC: Rpc = Rpc {{ path: \"{path}\", least_role: {least_role}, kind: CallKind::{kind} }};
}}
impl {way} for v1::{asked} {{}}
",
        asked = request.name(),
        told = answer.name(),
        path = path(method),
        least_role = rule.least_role,
        kind = rule.kind,
    )
}

/// What the contract's option says of an rpc, as code.
struct Rule {
    least_role: String,
    kind: String,
}

fn rule(pool: &DescriptorPool, method: &MethodDescriptor) -> Result<Rule, Box<dyn Error>> {
    let name = method.full_name();
    let option = pool
        .get_extension_by_name(OPTION)
        .ok_or("the contract has no option for its rpcs")?;
    let options = method.options();
    if !options.has_extension(&option) {
        return Err(format!(
            "{name} lacks the option ({OPTION}): who may call it, and what it does"
        )
        .into());
    }
    let value = options.get_extension(&option);
    let said = value.as_message().ok_or("the option is no message")?;
    let kind = word(said, "kind")?.ok_or_else(|| format!("{name} lacks its kind"))?;
    let anyone = said
        .get_field_by_name("anyone")
        .and_then(|value| value.as_bool())
        .unwrap_or_default();
    let least_role = match (anyone, word(said, "least_role")?) {
        (true, None) => "None".to_owned(),
        (false, Some(role)) => format!("Some(v1::Role::{role})"),
        _ => {
            return Err(
                format!("{name}: give either its least role, or that anyone may call it").into(),
            );
        }
    };
    Ok(Rule { least_role, kind })
}

/// The variant of the generated enum that a field names; nothing for the unspecified one.
fn word(message: &DynamicMessage, field: &str) -> Result<Option<String>, Box<dyn Error>> {
    let field = message
        .descriptor()
        .get_field_by_name(field)
        .ok_or_else(|| format!("the option has no field {field}"))?;
    let (Kind::Enum(words), Value::EnumNumber(number)) =
        (field.kind(), message.get_field(&field).into_owned())
    else {
        return Err(format!("the option's field {} is no enum", field.name()).into());
    };
    let value = words
        .get_value(number)
        .ok_or("an unknown word in an option")?;
    let prefix = screaming(words.name());
    let bare = value.name().strip_prefix(&prefix).unwrap_or(value.name());
    Ok((number != 0).then(|| camel(bare)))
}

/// Whether a message has a field of this message type.
fn holds(message: &MessageDescriptor, field: &str, of: &str) -> bool {
    message.get_field_by_name(field).is_some_and(|field| {
        matches!(field.kind(), Kind::Message(found) if found.full_name() == of) && !field.is_list()
    })
}

/// A list that comes in pages: its rows are the one repeated field of the answer.
fn paged(
    request: &MessageDescriptor,
    answer: &MessageDescriptor,
) -> Result<String, Box<dyn Error>> {
    let mut lists = answer.fields().filter(|field| field.is_list());
    let (Some(rows), None) = (lists.next(), lists.next()) else {
        return Err(format!("{} has not one list", answer.name()).into());
    };
    let (asked, told, rows) = (request.name(), answer.name(), rows.name());
    Ok(format!(
        "impl Paged for v1::{asked} {{
    fn turn(&mut self, rows: i32, token: String) {{
        self.page_size = rows;
        self.page_token = token;
    }}
    fn take_token(page: &mut v1::{told}) -> String {{
        ::core::mem::take(&mut page.next_page_token)
    }}
    fn join(page: &mut v1::{told}, more: v1::{told}) {{
        page.{rows}.extend(more.{rows});
    }}
}}
"
    ))
}

/// The requests that a device may keep, as one enum.
fn kept(keepable: &[(MethodDescriptor, MessageDescriptor)]) -> Result<String, Box<dyn Error>> {
    let mut variants = String::new();
    let mut decoded = String::new();
    for (method, request) in keepable {
        let (rpc, asked) = (method.name(), request.name());
        for field in KEPT_FIELDS {
            if request.get_field_by_name(field).is_none() {
                return Err(format!("{rpc} may be kept, but its request has no {field}").into());
            }
        }
        let path = path(method);
        writeln!(variants, "    /// `{rpc}`.\n    {rpc}(Box<v1::{asked}>),")?;
        writeln!(
            decoded,
            "            \"{path}\" => v1::{asked}::decode(bytes).map(Box::new).map(Self::{rpc}),"
        )?;
    }
    let arms = |done: &str| -> String {
        let arm = |rpc: &str| format!("            Self::{rpc}(one) => {done},\n");
        keepable.iter().map(|(rpc, _)| arm(rpc.name())).collect()
    };
    Ok(format!(
        "/// A request that a device may keep, and send later.
#[derive(Clone, Debug, PartialEq)]
pub enum Keepable {{
{variants}}}
impl Keepable {{
    /// Reads a request by the path of its rpc; nothing for one that may not be kept.
    pub fn decode(path: &str, bytes: &[u8]) -> Option<Result<Self, DecodeError>> {{
        Some(match path {{
{decoded}            _ => return None,
        }})
    }}
    /// The request as it is sent.
    pub fn encode(&self) -> Vec<u8> {{
        match self {{
{encode}        }}
    }}
    /// Its request id.
    pub fn request_id(&self) -> &str {{
        match self {{
{id}        }}
    }}
    /// When it happened, where that was said.
    pub fn done_time(&self) -> Option<Timestamp> {{
        match self {{
{done}        }}
    }}
    /// Its note.
    pub fn note(&self) -> &str {{
        match self {{
{note}        }}
    }}
    /// How it is kept, once that is filled in.
    pub fn kept(&self) -> Option<&v1::Kept> {{
        match self {{
{held}        }}
    }}
    /// Fills in when it happened, where that was not said, and how it is kept.
    pub fn keep(&mut self, now: Timestamp, kept: v1::Kept) {{
        match self {{
{keep}        }}
    }}
}}
",
        encode = arms("one.encode_to_vec()"),
        id = arms("&one.request_id"),
        done = arms("one.done_time"),
        note = arms("&one.note"),
        held = arms("one.kept.as_ref()"),
        keep = arms("{ one.done_time.get_or_insert(now); one.kept = Some(kept); }"),
    ))
}

/// The path of an rpc.
fn path(method: &MethodDescriptor) -> String {
    format!("/{}/{}", method.parent_service().full_name(), method.name())
}

/// `CallKind` as the contract's linter prefixes its words: `CALL_KIND_`.
fn screaming(name: &str) -> String {
    let mut prefix = String::new();
    for (at, letter) in name.chars().enumerate() {
        if at > 0 && letter.is_ascii_uppercase() {
            prefix.push('_');
        }
        prefix.push(letter.to_ascii_uppercase());
    }
    prefix.push('_');
    prefix
}

/// `READS_SERVICE` as Rust writes it: `ReadsService`.
pub(crate) fn camel(words: &str) -> String {
    let words = words.split('_').map(|word| {
        let (first, rest) = word.split_at(word.len().min(1));
        format!("{first}{}", rest.to_ascii_lowercase())
    });
    words.collect()
}
