//! Nonsense on every route: no answer may say that the program made a mistake, and none may take long.

use crate::How;
use crate::record::Counts;
use crate::server::{BARS, HANG, Server};
use anyhow::Result;
use rand::RngExt;
use rand_pcg::Pcg64Mcg;

const REQUESTS: u64 = 250;

const ROUTES: &[&str] = &[
    "/",
    "/studies",
    "/studies/import",
    "/studies/import/confirm",
    "/removed",
    "/study/T",
    "/study/T/sheet",
    "/study/T/piece",
    "/study/T/piece/file",
    "/study/T/after",
    "/study/T/bake",
    "/study/T/field",
    "/study/T/line",
    "/study/T/label",
    "/study/T/history",
    "/study/T/difference",
    "/study/T/conflict",
    "/study/T/export",
    "/study/T/import",
    "/study/T/import/confirm",
    "/study/T/edit",
    "/study/T/undo",
    "/study/T/redo",
    "/study/T/save",
    "/study/T/save-over",
    "/study/T/discard",
    "/study/T/duplicate",
    "/study/T/restore",
    "/study/T/use-material",
    "/materials",
    "/materials/new",
    "/materials/export",
    "/materials/import",
    "/material/salt",
    "/settings",
    "/settings/devices",
    "/settings/devices/pairing",
    "/settings/devices/end",
    "/settings/devices/code",
    "/settings/devices/no-code",
    "/bench/entries",
    "/bench/picture",
    "/bench/picture/0",
    "/favicon.svg",
];

const VALUES: &[&str] = &[
    "0",
    "1",
    "-1",
    "1e308",
    "1e-300",
    "NaN",
    "inf",
    "18446744073709551615",
    "999999999999999999999",
    "",
    "%00",
    "%0b",
    "%1b%5b31m",
    "%c2%85",
    "..%2f..%2fetc",
    "<script>",
    "%ff%fe",
    "barley",
    "control",
    "salt",
    "yes",
    "%e2%80%ae",
    "set_amount",
    "rename_treatment",
    "set_note",
    "set_field",
    "piece.path",
    "M0+0L1e308+0L0+1e308Z",
    "1,5",
    "1.234.5",
];

const FIELDS: &[&str] = &[
    "base",
    "counter",
    "window",
    "edit",
    "treatment",
    "material",
    "amount",
    "name",
    "value",
    "path",
    "note",
    "why",
    "number",
    "theirs",
    "from",
    "to",
    "with",
    "out",
    "keep",
    "share_pct",
    "zone",
    "field",
    "act",
    "start",
    "q",
    "by",
    "per",
    "rows",
    "room",
    "text",
    "thing",
    "whose",
    "docker.count",
    "docker.pattern",
    "unit_mm",
    "outline",
];

/// The requests.
pub fn run(how: How) -> Result<Counts> {
    let folder = tempfile::tempdir()?;
    let server = Server::start(&folder.path().join("lab.book"))?;
    let client = server.client();
    let mut random = Pcg64Mcg::new(u128::from(how.seed));
    let mut counts = Counts::default();
    for _ in 0..REQUESTS * how.times {
        let route = ROUTES[random.random_range(0..ROUTES.len())];
        let thing = [BARS, "none", "%2e%2e%2f", "%00", "x%0ay"][random.random_range(0..10).min(4)];
        let thing = if random.random_range(0..2) == 0 {
            BARS
        } else {
            thing
        };
        let mut path = route.replace('T', thing);
        let pairs: Vec<String> = (0..random.random_range(0..6))
            .map(|_| {
                let field = FIELDS[random.random_range(0..FIELDS.len())];
                let value = VALUES[random.random_range(0..VALUES.len())];
                format!("{field}={value}")
            })
            .collect();
        let pairs = pairs.join("&");
        let method = ["GET", "POST", "POST", "POST", "PUT", "HEAD"][random.random_range(0..6)];
        let (kind, body) = match random.random_range(0..5) {
            0 => (
                "application/json",
                format!(
                    "{{\"base\":1,\"edits\":[{{\"edit\":\"set_note\",\"note\":\"{pairs}\"}}]}}"
                ),
            ),
            1 => (
                "application/json",
                format!("{{\"base\":1,\"edits\":[{pairs}"),
            ),
            2 => (
                "multipart/form-data; boundary=x",
                format!(
                    "--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{pairs}\"\r\n\r\n{pairs}\r\n--x--\r\n"
                ),
            ),
            _ => ("application/x-www-form-urlencoded", pairs.clone()),
        };
        if method == "GET" && !pairs.is_empty() {
            path = format!("{path}?{pairs}");
        }
        let body = if method == "GET" { String::new() } else { body };
        let asked = format!("{method} {path} {kind} {body}");
        counts.add("requests", 1);
        match client.ask(method, &path, kind, body.as_bytes()) {
            Ok(answer) => {
                counts.worst("slowest answer ms", answer.took.as_millis() as u64);
                if answer.took > HANG {
                    counts.complain("hangs", format!("{:?}: {asked}", answer.took));
                }
                if answer.status >= 500 {
                    counts.complain("mistakes", format!("{}: {asked}", answer.status));
                }
            }
            // What isn't even a request may be hung up on.
            Err(error) => counts.complain("unanswered", format!("{error}: {asked}")),
        }
    }
    let last = client.get(&format!("/study/{BARS}"))?;
    if last.status >= 500 || last.status == 422 {
        counts.complain("mistakes", format!("the study is locked: {}", last.status));
    }
    for name in ["mistakes", "hangs", "unanswered"] {
        counts.add(name, 0);
    }
    server.withstood(&mut counts);
    Ok(counts)
}
