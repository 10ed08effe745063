//! Where numbers come from: what a public numeric function has to say beside itself, and what a bare constant has to.
//!
//! Knows the convention of CONTRIBUTING.md and reads it from the source with `syn`. Must not know what any number means.

use crate::root;
use anyhow::{Context, Result};
use std::path::{Path, PathBuf};
use syn::visit::Visit;

/// A crate whose numbers are held to the convention.
struct Held {
    name: &'static str,
    /// Least share \[%\] of its public numeric functions that have each part. Raise it, never lower it.
    floor_pct: f64,
    /// Most bare constants without unit and source. Lower it, never raise it.
    bare_at_most: usize,
}

/// The one place where the floors stand.
const HELD: &[Held] = &[
    Held {
        name: "formula",
        floor_pct: 98.0,
        bare_at_most: 0,
    },
    Held {
        name: "baking",
        floor_pct: 98.0,
        bare_at_most: 0,
    },
    Held {
        name: "trials",
        floor_pct: 98.0,
        bare_at_most: 0,
    },
];

/// What stands beside a public numeric function.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Equation,
    Units,
    Valid,
    Source,
    Example,
}

impl Part {
    const ALL: [Self; 5] = [
        Self::Equation,
        Self::Units,
        Self::Valid,
        Self::Source,
        Self::Example,
    ];

    const fn word(self) -> &'static str {
        match self {
            Self::Equation => "equation",
            Self::Units => "units",
            Self::Valid => "valid range",
            Self::Source => "source",
            Self::Example => "example",
        }
    }

    /// Whether a documentation has it.
    fn is_in(self, doc: &str) -> bool {
        let begins = |words: &[&str]| {
            prose(doc).any(|line| {
                words
                    .iter()
                    .any(|w| line.starts_with(w) && line.len() > w.len())
            })
        };
        match self {
            Self::Equation => begins(&["Equation:", "Rule:"]),
            Self::Units => begins(&["Units:"]),
            Self::Valid => begins(&["Valid:"]),
            Self::Source => begins(&["Source:"]),
            Self::Example => examples(doc).any(|code| code.contains("assert")),
        }
    }
}

/// The lines of a documentation outside its code, without the mark of a list.
fn prose(doc: &str) -> impl Iterator<Item = &str> {
    let mut code = false;
    doc.lines().map(str::trim).filter_map(move |line| {
        if line.starts_with("```") {
            code = !code;
            return None;
        }
        (!code).then(|| line.strip_prefix("- ").unwrap_or(line))
    })
}

/// The code of a documentation that runs as a test.
fn examples(doc: &str) -> impl Iterator<Item = &str> {
    doc.split("```")
        .skip(1)
        .step_by(2)
        .filter(|code| matches!(code.lines().next().unwrap_or_default().trim(), "" | "rust"))
}

/// A public numeric function and what it lacks.
struct Function {
    place: String,
    lacks: Vec<Part>,
}

/// What one crate has.
#[derive(Default)]
struct Found {
    functions: Vec<Function>,
    /// Constants without a type of their own whose documentation doesn't tell unit and source.
    bare: Vec<String>,
}

impl Found {
    fn share_pct(&self, part: Part) -> f64 {
        let all = self.functions.len().max(1);
        let with = self.functions.iter().filter(|f| !f.lacks.contains(&part));
        100.0 * with.count() as f64 / all as f64
    }
}

/// Counts the parts in each crate, tells them, and adds what lies under the floor to what is wrong.
pub fn check(list: bool, wrong: &mut Vec<String>) -> Result<()> {
    for held in HELD {
        let mut found = Found::default();
        let folder = root().join("crates").join(held.name).join("src");
        for path in sources(&folder)? {
            let text = std::fs::read_to_string(&path)?;
            let place = path.strip_prefix(root()).unwrap_or(&path).display();
            read(&place.to_string(), &text, &mut found)?;
        }
        let shares = Part::ALL.map(|part| {
            let share = found.share_pct(part);
            if share < held.floor_pct {
                wrong.push(format!(
                    "{}: {} beside {share:.1} % of the public numeric functions; the floor is {} %; `cargo xtask tidy --list` names those that lack something",
                    held.name, part.word(), held.floor_pct
                ));
            }
            format!("{} {share:.0} %", part.word())
        });
        println!(
            "tidy: {}: {} public numeric functions: {}; {} constants without unit and source",
            held.name,
            found.functions.len(),
            shares.join(", "),
            found.bare.len()
        );
        if found.bare.len() > held.bare_at_most {
            wrong.push(format!(
                "{}: {} bare constants without unit and source, {} at most: {}",
                held.name,
                found.bare.len(),
                held.bare_at_most,
                found.bare.join(", ")
            ));
        }
        if list {
            for function in found.functions.iter().filter(|f| !f.lacks.is_empty()) {
                let parts: Vec<_> = function.lacks.iter().map(|p| p.word()).collect();
                println!("{} lacks {}", function.place, parts.join(", "));
            }
            for constant in &found.bare {
                println!("{constant} tells no unit and source");
            }
        }
    }
    Ok(())
}

/// The source files of a folder that are part of the product.
fn sources(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    let entries = std::fs::read_dir(folder)
        .with_context(|| format!("cannot read {}", folder.display()))?
        .collect::<Result<Vec<_>, _>>()?;
    for entry in entries {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        if path.is_dir() {
            files.extend(sources(&path)?);
        } else if name.ends_with(".rs") && !name.ends_with("tests.rs") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn read(place: &str, text: &str, found: &mut Found) -> Result<()> {
    let file = syn::parse_file(text).with_context(|| format!("cannot parse {place}"))?;
    let mut reader = Reader {
        place,
        within: None,
        found,
    };
    reader.visit_file(&file);
    Ok(())
}

/// Goes through a file; tests are left out.
struct Reader<'a> {
    place: &'a str,
    /// The type whose functions are read.
    within: Option<String>,
    found: &'a mut Found,
}

impl Reader<'_> {
    fn function(
        &mut self,
        visibility: &syn::Visibility,
        attributes: &[syn::Attribute],
        signature: &syn::Signature,
        body: &syn::Block,
    ) {
        let public = matches!(visibility, syn::Visibility::Public(_));
        if !public || !numeric(signature) || accessor(body) || constructor(signature, body) {
            return;
        }
        let doc = documentation(attributes);
        let lacks = Part::ALL.into_iter().filter(|p| !p.is_in(&doc)).collect();
        let owner = self.within.as_ref().map(|w| format!("{w}::"));
        self.found.functions.push(Function {
            place: format!(
                "{}: {}{}",
                self.place,
                owner.unwrap_or_default(),
                signature.ident
            ),
            lacks,
        });
    }

    fn constant(&mut self, name: &syn::Ident, kind: &syn::Type, attributes: &[syn::Attribute]) {
        let numbers = Holds::of(|h| h.visit_type(kind));
        // What is filled when it is first asked for is a result, not a constant.
        if !numbers.float || numbers.lazy {
            return;
        }
        let doc = documentation(attributes);
        let unit = Part::Units.is_in(&doc) || prose(&doc).any(|line| line.contains("\\["));
        if !(unit && Part::Source.is_in(&doc)) {
            self.found.bare.push(format!("{}: {name}", self.place));
        }
    }
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if !for_tests(&item.attrs) {
            syn::visit::visit_item_mod(self, item);
        }
    }

    fn visit_item_impl(&mut self, item: &'ast syn::ItemImpl) {
        let before = self.within.take();
        if let syn::Type::Path(path) = &*item.self_ty {
            self.within = path.path.segments.last().map(|s| s.ident.to_string());
        }
        syn::visit::visit_item_impl(self, item);
        self.within = before;
    }

    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        if !for_tests(&item.attrs) {
            self.function(&item.vis, &item.attrs, &item.sig, &item.block);
            syn::visit::visit_item_fn(self, item);
        }
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.function(&item.vis, &item.attrs, &item.sig, &item.block);
        syn::visit::visit_impl_item_fn(self, item);
    }

    fn visit_item_const(&mut self, item: &'ast syn::ItemConst) {
        self.constant(&item.ident, &item.ty, &item.attrs);
    }

    fn visit_item_static(&mut self, item: &'ast syn::ItemStatic) {
        self.constant(&item.ident, &item.ty, &item.attrs);
    }

    fn visit_impl_item_const(&mut self, item: &'ast syn::ImplItemConst) {
        self.constant(&item.ident, &item.ty, &item.attrs);
    }
}

fn for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|a| {
        a.path().is_ident("test")
            || (a.path().is_ident("cfg")
                && matches!(&a.meta, syn::Meta::List(l) if l.tokens.to_string() == "test"))
    })
}

fn documentation(attributes: &[syn::Attribute]) -> String {
    let lines = attributes.iter().filter_map(|a| match &a.meta {
        syn::Meta::NameValue(pair) if pair.path.is_ident("doc") => match &pair.value {
            syn::Expr::Lit(syn::ExprLit {
                lit: syn::Lit::Str(text),
                ..
            }) => Some(text.value()),
            _ => None,
        },
        _ => None,
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// Types of `measure` that are one number, or a number and how sure it is.
const NEWTYPES: &[&str] = &["DryBasis", "WetBasis", "Estimate", "Tally"];

/// What a type or a body holds.
#[derive(Default)]
struct Holds {
    float: bool,
    number: bool,
    own: bool,
    lazy: bool,
    reckons: bool,
}

impl Holds {
    fn of(look: impl FnOnce(&mut Self)) -> Self {
        let mut holds = Self::default();
        look(&mut holds);
        holds
    }
}

impl<'ast> Visit<'ast> for Holds {
    fn visit_path(&mut self, path: &'ast syn::Path) {
        if let Some(last) = path.segments.last() {
            self.float |= last.ident == "f64";
            self.number |= last.ident == "f64" || NEWTYPES.iter().any(|n| last.ident == n);
            self.own |= last.ident == "Self";
            self.lazy |= last.ident == "OnceLock" || last.ident == "LazyLock";
        }
        syn::visit::visit_path(self, path);
    }

    fn visit_expr_binary(&mut self, expression: &'ast syn::ExprBinary) {
        use syn::BinOp::{Add, Div, Mul, Rem, Sub};
        self.reckons |= matches!(expression.op, Add(_) | Sub(_) | Mul(_) | Div(_) | Rem(_));
        syn::visit::visit_expr_binary(self, expression);
    }
}

/// Takes or gives a physical or statistical quantity.
fn numeric(signature: &syn::Signature) -> bool {
    Holds::of(|h| h.visit_signature(signature)).number
}

/// Gives a thing of its own type and reckons nothing.
fn constructor(signature: &syn::Signature, body: &syn::Block) -> bool {
    let makes = Holds::of(|h| h.visit_return_type(&signature.output)).own;
    makes && !Holds::of(|h| h.visit_block(body)).reckons
}

/// Only gives a field or a constant.
fn accessor(body: &syn::Block) -> bool {
    match body.stmts.as_slice() {
        [syn::Stmt::Expr(expression, None)] => held(expression),
        _ => false,
    }
}

/// An expression that is a field, a constant or a choice among them.
fn held(expression: &syn::Expr) -> bool {
    match expression {
        syn::Expr::Path(_) | syn::Expr::Lit(_) => true,
        syn::Expr::Field(field) => held(&field.base),
        syn::Expr::Reference(reference) => held(&reference.expr),
        syn::Expr::Paren(inner) => held(&inner.expr),
        syn::Expr::Index(index) => held(&index.expr) && held(&index.index),
        syn::Expr::Tuple(parts) => parts.elems.iter().all(held),
        syn::Expr::MethodCall(call) => {
            let only_hands_on = [
                "as_ref", "as_slice", "as_deref", "clone", "copied", "iter", "len", "is_empty",
                "get", "first", "last",
            ];
            only_hands_on.iter().any(|m| call.method == m)
                && held(&call.receiver)
                && call.args.iter().all(held)
        }
        syn::Expr::Match(choice) => {
            held(&choice.expr)
                && choice
                    .arms
                    .iter()
                    .all(|arm| held(&arm.body) && !matches!(*arm.body, syn::Expr::Lit(_)))
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Found {
        let mut found = Found::default();
        read("a.rs", text, &mut found).unwrap();
        found
    }

    #[test]
    fn each_part_is_missed_when_it_is_not_there() {
        let lines = [
            "/// - Equation: b = 2 a",
            "/// - Units: a and b \\[m\\]",
            "/// - Valid: any a",
            "/// - Source: an identity",
            "/// ```\n/// assert_eq!(x::twice(2.0), 4.0);\n/// ```",
        ];
        let function = "pub fn twice(a: f64) -> f64 { 2.0 * a }";
        let whole = found(&format!(
            "/// Twice.\n///\n{}\n{function}",
            lines.join("\n")
        ));
        assert!(whole.functions[0].lacks.is_empty());
        for (i, part) in Part::ALL.into_iter().enumerate() {
            let mut some = lines.to_vec();
            some.remove(i);
            let found = found(&format!("/// Twice.\n///\n{}\n{function}", some.join("\n")));
            assert_eq!(found.functions[0].lacks, [part]);
        }
    }

    #[test]
    fn only_what_reckons_with_numbers_in_public_is_held() {
        let counted = |text: &str| found(text).functions.len();
        assert_eq!(counted("pub fn a(x: &[f64]) -> usize { g(x) }"), 1);
        assert_eq!(counted("pub fn a(x: WetBasis) -> Option<bool> { g(x) }"), 1);
        assert_eq!(counted("fn a(x: f64) -> f64 { x + 1.0 }"), 0);
        assert_eq!(counted("pub(crate) fn a(x: f64) -> f64 { x + 1.0 }"), 0);
        assert_eq!(counted("pub fn a(x: u32) -> u32 { x + 1 }"), 0);
        assert_eq!(
            counted("#[cfg(test)] mod t { pub fn a(x: f64) -> f64 { x + 1.0 } }"),
            0
        );
        assert_eq!(counted("impl A { pub fn x(&self) -> f64 { self.x } }"), 0);
        assert_eq!(
            counted("impl A { pub fn x(&self) -> f64 { self.x * 2.0 } }"),
            1
        );
        assert_eq!(
            counted("impl A { pub fn new(x: f64) -> Self { Self { x } } }"),
            0
        );
        assert_eq!(
            counted("impl A { pub fn at(x: f64) -> Self { Self { x: x * x } } }"),
            1
        );
    }

    #[test]
    fn a_bare_constant_tells_unit_and_source() {
        let bare = |text: &str| found(text).bare.len();
        assert_eq!(bare("const G: f64 = 9.81;"), 1);
        assert_eq!(bare("/// Fall \\[m/s²\\].\nconst G: f64 = 9.81;"), 1);
        assert_eq!(
            bare(
                "/// Fall \\[m/s²\\].\n///\n/// Source: the standard value.\nconst G: f64 = 9.81;"
            ),
            0
        );
        assert_eq!(bare("const G: Constant = Constant { value: 9.81 };"), 0);
        assert_eq!(bare("const G: &[f64] = &[9.81];"), 1);
        assert_eq!(bare("static G: [(u32, f64); 1] = [(1, 9.81)];"), 1);
        assert_eq!(bare("static T: OnceLock<Vec<f64>> = OnceLock::new();"), 0);
        assert_eq!(bare("const N: usize = 4;"), 0);
    }
}
