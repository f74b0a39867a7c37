//! Compiles `proto/` into Rust with protox, so that no protoc has to be on the machine.
//!
//! Runs as the build script of the contract package (`proto/Cargo.toml` points here). Besides the
//! generated code it writes `fettlebook_descriptor.bin`, the descriptor set that reflection serves
//! and that the client's JSON mapping reads.

use std::error::Error;
use std::path::PathBuf;
use std::{env, fs};

use protox::prost::Message as _;

fn main() -> Result<(), Box<dyn Error>> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?);
    let folder = root.join("fettlebook/v1");
    println!("cargo::rerun-if-changed={}", folder.display());
    let mut files = Vec::new();
    for entry in fs::read_dir(&folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == "proto") {
            files.push(path);
        }
    }
    files.sort();

    let mut descriptors = protox::compile(&files, [&root])?;
    let mut config = prost_build::Config::new();
    config.enable_type_names();
    tonic_prost_build::configure().compile_fds_with_config(descriptors.clone(), config)?;
    for file in &mut descriptors.file {
        file.source_code_info = None;
    }
    let out = PathBuf::from(env::var("OUT_DIR")?).join("fettlebook_descriptor.bin");
    fs::write(out, descriptors.encode_to_vec())?;
    Ok(())
}
