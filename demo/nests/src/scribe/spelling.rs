//! How a number may be spelled: digits, or an expression that has the same value.

use crate::Random;

/// `value` as a count of last decimals, rounded to nearest.
#[expect(clippy::cast_possible_truncation, reason = "saturates far outside any table")]
pub(super) fn ticks(value: f64, decimals: u8) -> i64 {
    (value * 10f64.powi(i32::from(decimals))).round() as i64
}

/// A count as a float.
#[expect(clippy::cast_precision_loss, reason = "counts of last decimals on a table fit 53 bits")]
pub(super) fn value(count: i64) -> f64 {
    count as f64
}

/// As short as it can be while keeping its point: `12.5`, `12.0`.
pub(super) fn plain(count: i64, decimals: u8) -> String {
    let (sign, whole, part) = parts(count, decimals);
    let part = part.trim_end_matches('0');
    format!("{sign}{whole}.{}", if part.is_empty() { "0" } else { part })
}

/// Digits, plain or in one of the odd ways in which they may stand.
pub(super) fn digits(count: i64, decimals: u8, odd: Option<&mut Random>) -> String {
    let Some(random) = odd else { return plain(count, decimals) };
    let (sign, whole, part) = parts(count, decimals);
    let short = part.trim_end_matches('0');
    let sign = if sign.is_empty() { random.one_of(&["", "+"]) } else { sign };
    match random.below(5) {
        0 => format!("{sign}{whole}.{part}"),
        1 if short.is_empty() => format!("{sign}{whole}"),
        2 if short.is_empty() => format!("{sign}{whole}."),
        3 if whole == "0" && !short.is_empty() => format!("{sign}.{short}"),
        4 => format!("{sign}00{whole}.{short}0"),
        _ => plain(count, decimals),
    }
}

/// An expression with the value of `count` last decimals, to double precision; now and then plain digits. `known` is
/// a parameter and the count it holds.
pub(super) fn expression(
    count: i64,
    decimals: u8,
    known: Option<(u32, i64)>,
    odd: bool,
    random: &mut Random,
) -> String {
    if let Some((parameter, holds)) = known
        && random.chance(0.6)
    {
        return from_parameter(count - holds, decimals, parameter);
    }
    let mut number = |count| digits(count, decimals, odd.then_some(&mut *random));
    let whole = number(count);
    let part = ticks(value(count) * 0.37, 0);
    let sum = format!("[{}+{}]", number(part), number(count - part));
    let difference = format!("[{}-{}]", number(count + part), number(part));
    let size = number(count.abs());
    match random.below(12) {
        0 => sum,
        1 => difference,
        2 => format!("[{whole}*[5-4]]"),
        3 if count % 2 == 0 => format!("[{}*2]", plain(count / 2, decimals)),
        4 => format!("[{whole}/COS[0]]"),
        5 if count > 0 => format!("ABS[0-{size}]"),
        6 if count >= 0 => format!("SQRT[{size}**2]"),
        7 => format!("[{whole}+SIN[180]*0+[7 MOD 7]]"),
        8 => format!("[{whole}*[2 AND 1]+[0 XOR 0]*3]"),
        9 => format!("[{whole}+ROUND[0.4]-FIX[0.9]]"),
        10 if count > 0 => format!("EXP[LN[{size}]]"),
        _ => whole,
    }
}

fn from_parameter(rest: i64, decimals: u8, parameter: u32) -> String {
    match rest {
        0 => format!("#{parameter}"),
        1.. => format!("[#{parameter}+{}]", plain(rest, decimals)),
        _ => format!("[#{parameter}-{}]", plain(-rest, decimals)),
    }
}

/// Sign, digits before the point, all digits after it.
fn parts(count: i64, decimals: u8) -> (&'static str, String, String) {
    let decimals = usize::from(decimals);
    let digits = format!("{:0width$}", count.unsigned_abs(), width = decimals + 1);
    let (whole, part) = digits.split_at(digits.len() - decimals);
    (if count < 0 { "-" } else { "" }, whole.into(), part.into())
}
