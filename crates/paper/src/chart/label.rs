//! Words in a drawing: how wide they are, where they break, and how they keep out of each
//! other's way.

use super::svg::TEXT;

/// Rough width of a text in the data face, in units of the drawing; a little generous, because
/// the reader's own face is not known (common practice, no source).
pub fn text_width(text: &str) -> f64 {
    text.chars().map(char_width).sum::<f64>() * TEXT
}

fn char_width(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 't' | 'f' | 'r' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!'
        | '(' | ')' | '/' => 0.36,
        '\u{2009}' | '\u{202f}' => 0.22,
        ' ' => 0.30,
        'm' | 'w' | 'M' | 'W' | '%' | '@' | '—' => 0.92,
        c if c.is_ascii_digit() => 0.60,
        c if c.is_uppercase() => 0.70,
        c if (c as u32) >= 0x1100 => 1.05,
        _ => 0.58,
    }
}

/// Cuts a text to a width, with an ellipsis when something is lost.
pub fn cut(text: &str, width: f64) -> String {
    if text_width(text) <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    for c in text.chars() {
        let mut longer = kept.clone();
        longer.push(c);
        if text_width(&longer) + text_width("…") > width {
            break;
        }
        kept = longer;
    }
    format!("{}…", kept.trim_end())
}

/// Breaks a text into at most `most` lines of a width; the last is cut when it must be.
pub fn wrap(text: &str, width: f64, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let fits = lines
            .last()
            .is_some_and(|line| text_width(line) + text_width(" ") + text_width(word) <= width);
        match lines.last_mut() {
            Some(line) if fits || most <= 1 => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    if lines.len() > most.max(1) {
        let rest = lines.split_off(most.max(1) - 1).join(" ");
        lines.push(rest);
    }
    lines.into_iter().map(|line| cut(&line, width)).collect()
}

/// Centres for labels that want to stand at `wanted`, each `heights` tall, so that none overlaps
/// another and the whole moves as little as it can (least squares); kept between `low` and
/// `high` when they fit, and running past `high` when they can't.
///
/// ```
/// let places = paper::chart::label::push_apart(&[10.0, 12.0], &[14.0, 14.0], 0.0, 100.0);
/// assert_eq!(places, [7.0, 21.0]);
/// ```
pub fn push_apart(wanted: &[f64], heights: &[f64], low: f64, high: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    let (Some(&first), Some(&last)) = (order.first(), order.last()) else {
        return Vec::new();
    };

    // Take the stacked heights away, and "no overlap" becomes "never falling".
    let mut offsets = vec![0.0];
    for pair in order.windows(2) {
        let before = offsets[offsets.len() - 1];
        offsets.push(before + (heights[pair[0]] + heights[pair[1]]) / 2.0);
    }
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (&i, offset) in order.iter().zip(&offsets) {
        let mut pool = (wanted[i] - offset, 1);
        while let Some(&(sum, count)) = pools.last() {
            if sum / count as f64 <= pool.0 / pool.1 as f64 {
                break;
            }
            pool = (pool.0 + sum, pool.1 + count);
            pools.pop();
        }
        pools.push(pool);
    }

    let lowest = low + heights[first] / 2.0;
    let highest = (high - heights[last] / 2.0 - offsets[offsets.len() - 1]).max(lowest);
    let mut places = vec![0.0; wanted.len()];
    let level = pools
        .iter()
        .flat_map(|&(sum, count)| std::iter::repeat_n(sum / count as f64, count));
    for ((&i, offset), z) in order.iter().zip(&offsets).zip(level) {
        places[i] = z.clamp(lowest, highest) + offset;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn labels_never_overlap_and_stay_inside_when_they_fit(
            items in prop::collection::vec((-50.0..350.0f64, prop::sample::select(vec![14.0, 28.0])), 1..9)
        ) {
            let (wanted, heights): (Vec<_>, Vec<_>) = items.into_iter().unzip();
            let places = push_apart(&wanted, &heights, 0.0, 300.0);
            for i in 0..places.len() {
                for j in 0..i {
                    let room = (heights[i] + heights[j]) / 2.0;
                    prop_assert!((places[i] - places[j]).abs() >= room - 1e-9);
                }
                prop_assert!(places[i] - heights[i] / 2.0 >= -1e-9);
                if heights.iter().sum::<f64>() <= 300.0 {
                    prop_assert!(places[i] + heights[i] / 2.0 <= 300.0 + 1e-9);
                }
            }
        }

        #[test]
        fn labels_with_room_stay_where_they_want(start in 10.0..50.0f64, gap in 15.0..40.0f64) {
            let wanted: Vec<f64> = (0..4).map(|i| start + gap * f64::from(i)).collect();
            let places = push_apart(&wanted, &[14.0; 4], 0.0, 300.0);
            for (p, w) in places.iter().zip(&wanted) {
                prop_assert!((p - w).abs() < 1e-9);
            }
        }

        #[test]
        fn lines_keep_to_their_width(text in "[a-zA-Z ]{0,60}", width in 40.0..200.0f64) {
            for most in 1..4 {
                let lines = wrap(&text, width, most);
                prop_assert!(lines.len() <= most);
                for line in lines {
                    prop_assert!(text_width(&line) <= width + 1e-9, "{line}");
                }
            }
        }
    }

    #[test]
    fn a_short_name_is_left_whole() {
        assert_eq!(cut("Barley", 200.0), "Barley");
        assert_eq!(wrap("Rice & chickpea", 90.0, 2), ["Rice &", "chickpea"]);
    }
}
