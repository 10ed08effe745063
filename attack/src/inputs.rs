//! Mutated studies, drawings, tables, workbooks and model cases: each is read or refused, without a panic and in time.

use crate::How;
use crate::record::Counts;
use crate::server::HANG;
use anyhow::Result;
use baking::bake::case::CaseFile;
use baking::bake::{Workspace, bake};
use book::exchange::{Limits, csv, xlsx};
use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Instant;

/// Of each kind, so that they are 500 together.
const EACH: u64 = 100;

const STUDY: &str = include_str!("../../examples/spent-grain.toml");
const DRAWING: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" viewBox="0 0 60 40"><g id="a"><path d="M0 0 h60 v40 c-10 5 -20 -5 -30 0 q-10 4 -30 0 z"/></g></svg>"#;
const TABLE: &str = "id;moisture_pct;lot\nchickpea_flour;9,5;0012E5\nbarley_flour;11;\"a;b\"\n";

/// One of the bakes that the model is timed with, on few cells.
pub const CASE: &str = r#"{"cells":10,"accuracy":"quick","params":{"L":0.008,"X0":0.45,"T0":298.15,"rho_s":850,"c_s":1700,"c_w":4186,"k0":0.17,"k1":0.4,"D0":6e-10,"Ea":31000,"Tref":333.15,"bX":0,"phitau":0.01,"kappa":1e-13,"DK":0,"delta":0.01,"isoA":2.28,"isoB":0.38,"isoT":0.0056,"eps":0.9,"lam0":2501000,"lam1":2361,"Xc":0.1,"nX":2.8},"stages":[{"dur":240,"Ta":453.15,"Tr":463.15,"Tb":423.15,"pa":14034,"hc":20,"hb":80,"open":0,"km":1},{"dur":900,"Ta":298.15,"Tr":298.15,"Tb":298.15,"pa":1500,"hc":10,"hb":10,"open":1,"km":1}]}"#;

/// The texts that go in the place of a piece.
const PIECES: &[&str] = &[
    "1e308",
    "-1e308",
    "1e-320",
    "nan",
    "inf",
    "-0",
    "0",
    "99999999999999999999",
    "\u{0}",
    "\u{b}",
    "\u{85}",
    "\u{202e}",
    "\"\"\"",
    "[[treatment]]",
    "<!DOCTYPE svg [<!ENTITY a \"b\">]>",
    "&a;",
    "M",
    "Z",
    "]]>",
    "'",
    "\"",
    "{",
    "}",
    "\r",
    "é",
    "=",
];

/// The mutations.
pub fn run(how: How) -> Result<Counts> {
    let mut random = Pcg64Mcg::new(u128::from(how.seed));
    let mut counts = Counts::default();
    let workbook = workbook()?;
    let quiet = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    for _ in 0..EACH * how.times {
        let study = mutated(STUDY.as_bytes(), &mut random);
        tried("study", &study, &mut counts, |bytes| {
            if let Ok(text) = std::str::from_utf8(bytes)
                && let Ok(written) = study::written::read_written(text)
            {
                let again = study::written::write(&written);
                assert!(
                    study::written::read_written(&again).is_ok_and(|w| w == written),
                    "what was read is written otherwise"
                );
                let _problems_or_not = study::written::resolve(&written);
            }
        });
        let drawing = mutated(DRAWING.as_bytes(), &mut random);
        tried("drawing", &drawing, &mut counts, |bytes| {
            if let Ok(text) = std::str::from_utf8(bytes)
                && let Ok(found) = study::svg_outline::svg_outline(text)
            {
                let _piece_or_not = baking::piece::ClosedPath::from_svg(&found.path, 1e-3);
            }
        });
        let table = mutated(TABLE.as_bytes(), &mut random);
        tried("table", &table, &mut counts, |bytes| {
            let _table_or_not = csv::read(bytes, csv::Separator::of(bytes), &Limits::USUAL);
        });
        let case = mutated(CASE.as_bytes(), &mut random);
        tried("case", &case, &mut counts, |bytes| {
            if let Ok(file) = serde_json::from_slice::<CaseFile>(bytes)
                && let Ok(case) = file.read()
            {
                let _baked_or_refused = bake(&case.input, &case.ask, &mut Workspace::new());
            }
        });
        let sheet = mutated(&workbook, &mut random);
        tried("workbook", &sheet, &mut counts, |bytes| {
            let _table_or_not = xlsx::read(bytes, None, &Limits::USUAL);
        });
    }
    std::panic::set_hook(quiet);
    for name in ["panics", "hangs"] {
        counts.add(name, 0);
    }
    Ok(counts)
}

/// The table as a workbook.
fn workbook() -> Result<Vec<u8>> {
    let table = csv::read(
        TABLE.as_bytes(),
        csv::Separator::of(TABLE.as_bytes()),
        &Limits::USUAL,
    )?;
    Ok(xlsx::write(&[("materials", &table)])?)
}

fn tried(what: &str, bytes: &[u8], counts: &mut Counts, read: impl Fn(&[u8])) {
    counts.add("mutations", 1);
    let began = Instant::now();
    let read = catch_unwind(AssertUnwindSafe(|| read(bytes)));
    let took = began.elapsed();
    counts.worst("slowest ms", took.as_millis() as u64);
    let shown = || String::from_utf8_lossy(&bytes[..bytes.len().min(400)]).into_owned();
    if let Err(panic) = read {
        let words = panic
            .downcast_ref::<String>()
            .map(String::as_str)
            .or_else(|| panic.downcast_ref::<&str>().copied())
            .unwrap_or_default();
        // The whole input is kept, so that it can be looked at.
        let kept =
            std::env::temp_dir().join(format!("hardtack-attack-{}-{what}", std::process::id()));
        let kept = std::fs::write(&kept, bytes)
            .map_or_else(|e| e.to_string(), |()| kept.display().to_string());
        counts.complain(
            "panics",
            format!("{what}: {words} (kept: {kept}): {:?}", shown()),
        );
    }
    if took > HANG {
        counts.complain("hangs", format!("{what}, {took:?}: {:?}", shown()));
    }
}

/// A few bytes taken out, doubled, moved or put in.
fn mutated(whole: &[u8], random: &mut Pcg64Mcg) -> Vec<u8> {
    let mut bytes = whole.to_vec();
    for _ in 0..random.random_range(1..5) {
        if bytes.len() < 2 {
            break;
        }
        let at = random.random_range(0..bytes.len());
        let length = random.random_range(0..30).min(bytes.len() - at);
        match random.random_range(0..6) {
            0 => bytes[at] ^= 1 << random.random_range(0..8),
            1 => {
                bytes.drain(at..at + length);
            }
            2 => {
                let part = bytes[at..at + length].to_vec();
                let times = random.random_range(1..40);
                bytes.splice(at..at, part.repeat(times));
            }
            3 => bytes.truncate(at),
            4 => {
                let digits: Vec<usize> = (0..bytes.len())
                    .filter(|&i| bytes[i].is_ascii_digit())
                    .collect();
                if !digits.is_empty() {
                    let at = digits[random.random_range(0..digits.len())];
                    let piece = PIECES[random.random_range(0..8)];
                    bytes.splice(at..=at, piece.bytes());
                }
            }
            _ => {
                let piece = PIECES[random.random_range(0..PIECES.len())];
                bytes.splice(at..at, piece.bytes());
            }
        }
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_mutated_is_read_as_long_as_it_is_whole() {
        let file: CaseFile = serde_json::from_str(CASE).unwrap();
        let case = file.read().unwrap();
        assert!(bake(&case.input, &case.ask, &mut Workspace::new()).is_ok());
        assert!(study::written::read(STUDY).is_ok());
        assert!(study::svg_outline::svg_outline(DRAWING).is_ok());
        assert!(csv::read(TABLE.as_bytes(), csv::Separator::Semicolon, &Limits::USUAL).is_ok());
    }
}
