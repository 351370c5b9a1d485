//! The known name nearest to one that is not known, and names listed for messages.

/// The one of `known` that `name` was most likely meant to be; none if all are too far away.
pub(crate) fn nearest<'k>(name: &str, known: &[&'k str]) -> Option<&'k str> {
    // One slip in every three letters, but at least one: `speeed`, `pierce_hight`, `kref`.
    let name: Vec<char> = name.chars().take(LONGEST).flat_map(char::to_lowercase).collect();
    let most = (name.len() / 3).max(1);
    known
        .iter()
        .map(|known| (distance(&name, &known.chars().collect::<Vec<_>>()), *known))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, known)| known)
}

/// Names longer than this are nobody's slip of the pen, and comparing them costs time.
const LONGEST: usize = 64;

/// Letters to change, add, drop or swap with a neighbour, to make `b` of `a`.
fn distance(a: &[char], b: &[char]) -> usize {
    let width = b.len() + 1;
    let mut rows: Vec<Vec<usize>> = vec![(0..width).collect()];
    for i in 1..=a.len() {
        let mut row = vec![i; width];
        for j in 1..width {
            let same = a[i - 1] == b[j - 1];
            row[j] = (rows[i - 1][j] + 1).min(row[j - 1] + 1).min(rows[i - 1][j - 1] + usize::from(!same));
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(rows[i - 2][j - 2] + 1);
            }
        }
        rows.push(row);
    }
    rows[a.len()][b.len()]
}

/// `a, b or c`.
pub(crate) fn listed(names: &[&str]) -> String {
    match names {
        [] => "nothing".to_owned(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// A text cut to what fits in a message.
pub(crate) fn shortened(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{} …", &text[..end]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_pen_find_their_word() {
        let known = ["speed", "height", "volts", "kerf", "acceleration"];
        for (slip, meant) in [
            ("speeed", Some("speed")),
            ("hieght", Some("height")),
            ("kref", Some("kerf")),
            ("Volt", Some("volts")),
            ("accelleration", Some("acceleration")),
            ("colour", None),
            ("", None),
        ] {
            assert_eq!(nearest(slip, &known), meant, "{slip}");
        }
    }
}
