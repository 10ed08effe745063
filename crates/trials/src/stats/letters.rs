//! Compact letters (Piepho 2004): two treatments share a letter exactly when they do not differ
//! significantly.

/// The letters of each of `n` treatments, insert–absorb–sweep. `significant(i, j)` must be
/// symmetric. Letters are given in the order of the treatments: put the best mean first and it
/// gets `a`.
///
/// ```
/// use trials::stats::letters::letters;
/// // Means in order trt2, ctrl, trt1; only trt2 and trt1 differ.
/// let found = letters(3, |i, j| (i.min(j), i.max(j)) == (0, 2));
/// assert_eq!(found, ["a", "ab", "b"]);
/// ```
pub fn letters(n: usize, significant: impl Fn(usize, usize) -> bool) -> Vec<String> {
    let mut columns: Vec<Vec<bool>> = vec![vec![true; n]];
    for i in 0..n {
        for j in i + 1..n {
            if !significant(i, j) {
                continue;
            }
            // Insert: a column that holds both becomes two that hold one each.
            let mut next = Vec::with_capacity(columns.len() + 1);
            for column in columns {
                if column[i] && column[j] {
                    let mut without_i = column.clone();
                    without_i[i] = false;
                    let mut without_j = column;
                    without_j[j] = false;
                    next.push(without_j);
                    next.push(without_i);
                } else {
                    next.push(column);
                }
            }
            columns = absorb(next);
        }
    }
    sweep(&mut columns, n);
    columns.sort_by_key(|column| {
        (0..n)
            .map(|i| if column[i] { '0' } else { '1' })
            .collect::<String>()
    });
    (0..n)
        .map(|i| {
            columns
                .iter()
                .enumerate()
                .filter(|(_, column)| column[i])
                .map(|(at, _)| name(at))
                .collect()
        })
        .collect()
}

/// Drops every column that another one contains.
fn absorb(columns: Vec<Vec<bool>>) -> Vec<Vec<bool>> {
    let inside = |a: &[bool], b: &[bool]| a.iter().zip(b).all(|(a, b)| !a || *b);
    let mut kept: Vec<Vec<bool>> = Vec::with_capacity(columns.len());
    for column in columns {
        if kept.iter().any(|other| inside(&column, other)) {
            continue;
        }
        kept.retain(|other| !inside(other, &column));
        kept.push(column);
    }
    kept
}

/// Drops a letter from a treatment, or a whole column, when every pair it joins is joined
/// elsewhere.
fn sweep(columns: &mut Vec<Vec<bool>>, n: usize) {
    for at in (0..columns.len()).rev() {
        for i in 0..n {
            if !columns[at][i] {
                continue;
            }
            let others = (0..n).filter(|&j| columns[at][j]);
            let spare = others
                .into_iter()
                .all(|j| (0..columns.len()).any(|c| c != at && columns[c][i] && columns[c][j]));
            if spare {
                columns[at][i] = false;
            }
        }
    }
    columns.retain(|column| column.iter().any(|held| *held));
}

/// a … z, then aa, ab, …, kept apart by a dot so that no reading is double.
fn name(at: usize) -> String {
    let letter = |i: usize| char::from(b'a' + (i % 26) as u8);
    if at < 26 {
        letter(at).to_string()
    } else {
        format!(".{}{}", letter(at / 26 - 1), letter(at))
    }
}
