//! Reading a number: optional sign, digits, at most one point, blanks anywhere (NISTIR 6556, 3.3 and 3.3.2.1).

/// Most digits a number may have. Coordinates need ten; past forty it is no number but a slip or a bad file.
const DIGITS_MOST: usize = 40;

/// Up to so many digits a number fits `u64` without a look at each step.
const DIGITS_QUICK: usize = 19;

/// Whole numbers up to this are exact in `f64` (2^53).
const EXACT_MOST: u64 = 1 << 53;

/// Powers of ten that are exact in `f64`: a quotient of two exact numbers is correctly rounded.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// The number that stands at `*at`, correctly rounded, and moves `*at` past it and any blanks after it. None, with
/// `*at` where reading failed, if no number stands there or it has too many digits.
#[inline]
pub(crate) fn read(text: &[u8], at: &mut usize) -> Option<f64> {
    let mut i = *at;
    let mut mantissa: u64 = 0;
    let mut digits: usize = 0;
    let mut decimals: usize = 0;
    let mut point = false;
    let mut negative = false;
    let first = text.get(i).copied().unwrap_or(b'\n');
    if first == b'-' || first == b'+' {
        negative = first == b'-';
        i += 1;
    }
    while let Some(&byte) = text.get(i) {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
            digits += 1;
            decimals += usize::from(point);
        } else if byte == b'.' && !point {
            point = true;
        } else if byte != b' ' && byte != b'\t' {
            break;
        }
        i += 1;
    }
    let start = std::mem::replace(at, i);
    if digits == 0 || text.get(i) == Some(&b'.') {
        return None;
    }
    let size = if digits <= DIGITS_QUICK && mantissa <= EXACT_MOST {
        #[expect(clippy::cast_precision_loss, reason = "exact up to 2^53")]
        let whole = mantissa as f64;
        if decimals == 0 { whole } else { whole / TENS[decimals] }
    } else {
        return slowly(&text[start..i]);
    };
    Some(if negative { -size } else { size })
}

/// Many digits: the same number without its blanks, through the standard library.
#[cold]
fn slowly(text: &[u8]) -> Option<f64> {
    let plain: String =
        text.iter().filter(|byte| !matches!(byte, b' ' | b'\t')).map(|&b| char::from(b)).collect();
    if plain.len() > DIGITS_MOST + 2 { None } else { plain.parse().ok() }
}
