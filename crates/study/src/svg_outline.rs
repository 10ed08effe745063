//! The outline in an SVG file: its one shape as path data, and how long a unit of the drawing is.

use roxmltree::{Document, Node, ParsingOptions};

/// Largest file that is read, bytes.
pub const MOST_BYTES: usize = 1_000_000;
/// Most elements, comments and pieces of text that are read.
const MOST_NODES: usize = 20_000;
/// Most attributes of one element; they are compared with each other.
const MOST_ATTRIBUTES: usize = 200;
/// Most declarations of namespaces; each element below them carries them on.
const MOST_NAMESPACES: usize = 100;

/// An outline found in a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct SvgOutline {
    /// Path data, as `piece.path` takes it.
    pub path: String,
    /// Length of one unit \[mm\], where the drawing tells its size; none where it has to be asked.
    pub unit_mm: Option<f64>,
}

/// Why a drawing gives no outline.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SvgError {
    /// Too large.
    #[error("the drawing has {bytes} bytes; at most {MOST_BYTES} are read. Save the outline alone")]
    Large {
        /// Size, bytes.
        bytes: usize,
    },
    /// A document type, whose entities can make a small file endless.
    #[error(
        "the file has a document type (<!DOCTYPE …>), which isn't read. Save it as plain SVG, or take that line out"
    )]
    DocumentType,
    /// Too many of something.
    #[error("the drawing has more than {most} {what}. Save the outline alone")]
    Many {
        /// Of what.
        what: &'static str,
        /// How many are read.
        most: usize,
    },
    /// Not XML.
    #[error("the file isn't a drawing that can be read: {what}. Save it as plain SVG")]
    Unreadable {
        /// What the reader tells, with line and column.
        what: String,
    },
    /// Another kind of file.
    #[error("the file holds <{found}> where a drawing has <svg>. Save it as plain SVG")]
    NotSvg {
        /// The first element.
        found: String,
    },
    /// None, or several.
    #[error(
        "the drawing holds {count} shapes ({names}); a piece has one outline. Join them, or leave the others out; holes are set as docker holes"
    )]
    Shapes {
        /// How many.
        count: usize,
        /// What they are, the first few.
        names: String,
    },
    /// Moved or turned by its drawing program.
    #[error(
        "{name} at line {line} is moved, turned or scaled (transform=\"{transform}\"). Let the drawing program put the transform into the path, and save again"
    )]
    Transform {
        /// Which element.
        name: String,
        /// Line of the file.
        line: u32,
        /// As written.
        transform: String,
    },
    /// A measure that isn't a plain number.
    #[error("{name} at line {line} has no number for {key}")]
    Number {
        /// Which element.
        name: String,
        /// Line of the file.
        line: u32,
        /// Which measure.
        key: &'static str,
    },
}

/// Finds the one outline of an SVG file.
///
/// Millimetres a unit follow from `width` and `viewBox` where the width has a unit of length (SVG 2, section 8.2, with
/// the lengths of CSS: 96 px to an inch).
///
/// # Errors
/// What keeps it from being taken, with the place.
///
/// ```
/// let file = r#"<svg xmlns="http://www.w3.org/2000/svg" width="6cm" viewBox="0 0 600 400"><path d="M0 0H600V400z"/></svg>"#;
/// let found = study::svg_outline::svg_outline(file)?;
/// assert_eq!((found.path.as_str(), found.unit_mm), ("M0 0H600V400z", Some(0.1)));
/// # Ok::<(), study::svg_outline::SvgError>(())
/// ```
pub fn svg_outline(text: &str) -> Result<SvgOutline, SvgError> {
    if text.len() > MOST_BYTES {
        return Err(SvgError::Large { bytes: text.len() });
    }
    bounded(text)?;
    let options = ParsingOptions {
        allow_dtd: false,
        nodes_limit: MOST_NODES as u32,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(text, options).map_err(|e| match e {
        roxmltree::Error::DtdDetected => SvgError::DocumentType,
        roxmltree::Error::NodesLimitReached => SvgError::Many {
            what: "elements",
            most: MOST_NODES,
        },
        other => SvgError::Unreadable {
            what: other.to_string(),
        },
    })?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        return Err(SvgError::NotSvg {
            found: root.tag_name().name().chars().take(40).collect(),
        });
    }
    let shapes = drawn(root);
    let [shape] = shapes[..] else {
        let names: Vec<String> = shapes.iter().take(4).map(|n| name(*n)).collect();
        return Err(SvgError::Shapes {
            count: shapes.len(),
            names: if names.is_empty() {
                "no path, polygon, rectangle, circle or ellipse".to_owned()
            } else {
                names.join(", ")
            },
        });
    };
    let at = |n: Node<'_, '_>| document.text_pos_at(n.range().start).row;
    for n in shape.ancestors().filter(|n| n.is_element() && *n != root) {
        if let Some(transform) = n.attribute("transform") {
            return Err(SvgError::Transform {
                name: name(n),
                line: at(n),
                transform: transform.chars().take(60).collect(),
            });
        }
    }
    Ok(SvgOutline {
        path: path_of(shape, at(shape))?,
        unit_mm: unit_mm(root),
    })
}

const SHAPES: [&str; 5] = ["path", "polygon", "rect", "circle", "ellipse"];
/// Elements whose content isn't drawn where it stands.
const NOT_DRAWN: [&str; 6] = ["defs", "clipPath", "mask", "marker", "pattern", "symbol"];

/// Refuses, in one look at the text, what would take a reader longer than it has bytes.
fn bounded(text: &str) -> Result<(), SvgError> {
    let many = |what, most| Err(SvgError::Many { what, most });
    if text.matches("xmlns").count() > MOST_NAMESPACES {
        return many("namespaces", MOST_NAMESPACES);
    }
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        rest = &rest[at..];
        // What is no tag, and how it ends; where it doesn't, the reader tells.
        let other = [("<!--", "-->"), ("<![CDATA[", "]]>"), ("<?", "?>")];
        let other = other.iter().find(|(begin, _)| rest.starts_with(begin));
        let length = match other {
            Some((begin, end)) => match rest[begin.len()..].find(end) {
                Some(at) => begin.len() + at + end.len(),
                None => return Ok(()),
            },
            None => {
                let (attributes, length) = tag(rest);
                if attributes > MOST_ATTRIBUTES {
                    return many("attributes in one element", MOST_ATTRIBUTES);
                }
                length
            }
        };
        rest = &rest[length..];
    }
    Ok(())
}

/// Attributes of the tag that a text begins with, and its length: what stands in quotes neither begins nor ends anything.
fn tag(text: &str) -> (usize, usize) {
    let (mut quote, mut attributes) = (None, 0);
    for (at, byte) in text.bytes().enumerate() {
        match (quote, byte) {
            (Some(mark), _) if mark == byte => quote = None,
            (Some(_), _) => {}
            (None, b'"' | b'\'') => quote = Some(byte),
            (None, b'=') => attributes += 1,
            (None, b'>') => return (attributes, at + 1),
            (None, _) => {}
        }
    }
    (attributes, text.len())
}

/// The shapes that are drawn where they stand, in order; each element is looked at once.
fn drawn<'a, 'input>(root: Node<'a, 'input>) -> Vec<Node<'a, 'input>> {
    let mut shapes = Vec::new();
    let mut to_do = vec![root];
    while let Some(n) = to_do.pop() {
        let name = n.tag_name().name();
        if NOT_DRAWN.contains(&name) {
            continue;
        }
        if SHAPES.contains(&name) {
            shapes.push(n);
        }
        to_do.extend(n.children().rev().filter(Node::is_element));
    }
    shapes
}

fn name(n: Node<'_, '_>) -> String {
    let id: Option<String> = n.attribute("id").map(|id| id.chars().take(30).collect());
    let tag = n.tag_name().name();
    id.map_or_else(|| tag.to_owned(), |id| format!("{tag} ‘{id}’"))
}

fn path_of(n: Node<'_, '_>, line: u32) -> Result<String, SvgError> {
    let wrong = |key| SvgError::Number {
        name: name(n),
        line,
        key,
    };
    let text = |key: &'static str| n.attribute(key).ok_or_else(|| wrong(key));
    let number = |key: &'static str| -> Result<f64, SvgError> {
        let value = text(key)?.trim().trim_end_matches("px");
        let value = value.parse::<f64>().ok().filter(|v| v.is_finite());
        value.ok_or_else(|| wrong(key))
    };
    let or_zero = |key: &'static str| n.attribute(key).map_or(Ok(0.0), |_| number(key));
    Ok(match n.tag_name().name() {
        "polygon" => format!("M {} Z", text("points")?.trim()),
        "rect" => {
            let (x, y, w, h) = (
                or_zero("x")?,
                or_zero("y")?,
                number("width")?,
                number("height")?,
            );
            let r = or_zero("rx")?.max(or_zero("ry")?).min(0.5 * w).min(0.5 * h);
            if r > 0.0 {
                let (iw, ih) = (w - 2.0 * r, h - 2.0 * r);
                format!(
                    "M {} {y} h {iw} a {r} {r} 0 0 1 {r} {r} v {ih} a {r} {r} 0 0 1 {} {r} h {} a {r} {r} 0 0 1 {} {} v {} a {r} {r} 0 0 1 {r} {} Z",
                    x + r,
                    -r,
                    -iw,
                    -r,
                    -r,
                    -ih,
                    -r
                )
            } else {
                format!("M {x} {y} h {w} v {h} h {} Z", -w)
            }
        }
        "circle" | "ellipse" => {
            let (cx, cy) = (or_zero("cx")?, or_zero("cy")?);
            let (rx, ry) = if n.attribute("r").is_some() {
                (number("r")?, number("r")?)
            } else {
                (number("rx")?, number("ry")?)
            };
            format!(
                "M {} {cy} a {rx} {ry} 0 1 0 {} 0 a {rx} {ry} 0 1 0 {} 0 Z",
                cx - rx,
                2.0 * rx,
                -2.0 * rx
            )
        }
        _ => text("d")?.trim().to_owned(),
    })
}

/// Millimetres a unit, from the width with its unit of length and the view box.
fn unit_mm(root: Node<'_, '_>) -> Option<f64> {
    let width = root.attribute("width")?.trim();
    let digits = width.trim_end_matches(|c: char| c.is_ascii_alphabetic() || c == '%');
    let each_mm = match &width[digits.len()..] {
        "mm" => 1.0,
        "cm" => 10.0,
        "in" => 25.4,
        "pt" => 25.4 / 72.0,
        "pc" => 25.4 / 6.0,
        _ => return None,
    };
    let width_mm = digits.trim().parse::<f64>().ok()? * each_mm;
    let units = match root.attribute("viewBox") {
        Some(view) => view
            .split(|c: char| c.is_whitespace() || c == ',')
            .filter(|w| !w.is_empty())
            .nth(2)?
            .parse::<f64>()
            .ok()?,
        None => width_mm / (25.4 / 96.0),
    };
    let unit = width_mm / units;
    (unit.is_finite() && unit > 0.0).then_some(unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use baking::piece::ClosedPath;

    fn svg(inside: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60mm\" viewBox=\"0 0 60 40\">{inside}</svg>"
        )
    }

    /// Areas by school geometry.
    #[test]
    fn every_shape_encloses_its_area() {
        let round_corners = 6.0 * 4.0 - (4.0 - std::f64::consts::PI) * 1.0;
        for (inside, area) in [
            ("<rect width=\"6\" height=\"4\"/>", 24.0),
            (
                "<rect x=\"1\" y=\"2\" width=\"6\" height=\"4\" rx=\"1\"/>",
                round_corners,
            ),
            (
                "<circle cx=\"5\" cy=\"5\" r=\"2\"/>",
                4.0 * std::f64::consts::PI,
            ),
            ("<ellipse rx=\"3\" ry=\"2\"/>", 6.0 * std::f64::consts::PI),
            ("<g><polygon points=\"0,0 6,0 3,4\"/></g>", 12.0),
        ] {
            let found = svg_outline(&svg(inside)).unwrap();
            assert_eq!(found.unit_mm, Some(1.0));
            let path = ClosedPath::from_svg(&found.path, 1.0).unwrap();
            assert!(
                (path.area_m2() / area - 1.0).abs() < 1e-6,
                "{inside} {}",
                path.area_m2()
            );
        }
    }

    /// Files that are small and would take a careless reader minutes or gigabytes: entities that multiply, nesting,
    /// attributes, namespaces (common practice of attacking XML readers, no source).
    #[test]
    fn small_files_that_grow_are_refused_at_once() {
        let mut laughs = String::from("<!DOCTYPE svg [<!ENTITY a0 \"M0 0h1v1z\">");
        for n in 1..30 {
            laughs += &format!("<!ENTITY a{n} \"{}\">", format!("&a{};", n - 1).repeat(10));
        }
        laughs += "]><svg><path d=\"&a29;\"/></svg>";
        assert_eq!(svg_outline(&laughs), Err(SvgError::DocumentType));
        let deep = svg(&format!(
            "{}{}",
            "<g>".repeat(140_000),
            "</g>".repeat(140_000)
        ));
        let nested = svg(&format!(
            "{}{}",
            "<path>".repeat(15_000),
            "</path>".repeat(15_000)
        ));
        let attributes: String = (0..90_000).map(|n| format!(" a{n}=\"\"")).collect();
        let namespaces: String = (0..9_000)
            .map(|n| format!("<g xmlns:a{n}=\"u{n}\">"))
            .collect();
        for text in [
            deep,
            nested,
            svg(&format!("<path{attributes}/>")),
            svg(&namespaces),
            svg(&"<g/>".repeat(200_000)),
        ] {
            let before = std::time::Instant::now();
            assert!(svg_outline(&text).is_err());
            assert!(before.elapsed().as_secs() < 5, "{:?}", before.elapsed());
        }
    }

    /// What stands in quotes, comments and the like ends no tag (XML 1.0, productions 10, 15, 16 and 18).
    #[test]
    fn attributes_are_counted_whatever_stands_between() {
        let attributes: String = (0..=MOST_ATTRIBUTES)
            .map(|n| format!(" a{n}=\"\""))
            .collect();
        let many = Err(SvgError::Many {
            what: "attributes in one element",
            most: MOST_ATTRIBUTES,
        });
        for before in ["x=\">\"", "x='\">'", "x=\"'>\" y='>'"] {
            let text = svg(&format!("<path {before}{attributes}/>"));
            assert_eq!(svg_outline(&text), many, "{before}");
        }
        for between in [
            "<!-- ' > -->",
            "<?note \" > ?>",
            "<desc><![CDATA[ ' > ]]></desc>",
        ] {
            let text = svg(&format!("{between}<path{attributes}/>"));
            assert_eq!(svg_outline(&text), many, "{between}");
        }
        // Signs within a value are no attributes.
        let text = svg(&format!(
            "<path id=\"{}\" d=\"M0 0h1v1z\"/>",
            "a=b ".repeat(300)
        ));
        assert_eq!(svg_outline(&text).unwrap().path, "M0 0h1v1z");
    }

    #[test]
    fn what_is_no_outline_is_told_with_its_place() {
        let two = svg("<path id=\"a\" d=\"M0 0\"/><rect width=\"1\" height=\"1\"/>");
        let moved = svg("\n<g transform=\"rotate(3)\">\n<path d=\"M0 0\"/></g>");
        for (text, wanted) in [
            (two.as_str(), "2 shapes (path ‘a’, rect)"),
            (&moved, "g at line 2 is moved"),
            (&svg(""), "0 shapes"),
            (
                &svg("<circle r=\"big\"/>"),
                "circle at line 1 has no number for r",
            ),
            ("<html/>", "holds <html>"),
            ("M0 0 L1 1", "isn't a drawing"),
        ] {
            let told = svg_outline(text).unwrap_err().to_string();
            assert!(told.contains(wanted), "{wanted}: {told}");
        }
        let hidden = svg("<defs><path d=\"M0 0\"/></defs><path d=\"M0 0h1v1z\"/>");
        assert_eq!(svg_outline(&hidden).unwrap().path, "M0 0h1v1z");
    }
}
