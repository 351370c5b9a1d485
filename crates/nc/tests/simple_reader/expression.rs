//! Values of numbers, parameters and expressions, the slow way: an expression is first read into a list, then
//! worked off in three passes, one for each group of operators.

use std::collections::BTreeMap;

/// Values of parameters by number; those never set are 0.
pub(crate) type Parameters = BTreeMap<u32, f64>;

/// Reads one text from its beginning; `None` wherever it is not as the language has it.
pub(crate) struct Text<'t> {
    letters: &'t [char],
    parameters: &'t Parameters,
}

impl<'t> Text<'t> {
    /// `letters` are upper case and hold no blanks.
    pub(crate) fn new(letters: &'t [char], parameters: &'t Parameters) -> Self {
        Self { letters, parameters }
    }

    pub(crate) fn rest(&self) -> &'t [char] {
        self.letters
    }

    pub(crate) fn take(&mut self, expected: &str) -> bool {
        let fits = expected.chars().enumerate().all(|(k, c)| self.letters.get(k) == Some(&c));
        if fits {
            self.letters = &self.letters[expected.len()..];
        }
        fits
    }

    /// A number, a parameter, an expression in brackets or a function of one.
    pub(crate) fn value(&mut self) -> Option<f64> {
        if self.letters.first() == Some(&'[') {
            return self.bracketed();
        }
        if self.take("#") {
            let number = self.value()?;
            return Some(self.parameters.get(&index(number)?).copied().unwrap_or(0.0));
        }
        if self.take("ATAN") {
            let y = self.bracketed()?;
            return if self.take("/") { Some(y.atan2(self.bracketed()?).to_degrees()) } else { None };
        }
        for (name, function) in FUNCTIONS {
            if self.take(name) {
                return Some(function(self.bracketed()?)).filter(|value| value.is_finite());
            }
        }
        self.number()
    }

    fn number(&mut self) -> Option<f64> {
        let sign = if self.take("-") { -1.0 } else { 1.0 };
        if sign > 0.0 {
            self.take("+");
        }
        let length = self.letters.iter().take_while(|c| c.is_ascii_digit() || **c == '.').count();
        let digits: String = self.letters[..length].iter().collect();
        self.letters = &self.letters[length..];
        Some(sign * digits.parse::<f64>().ok()?)
    }

    fn bracketed(&mut self) -> Option<f64> {
        if !self.take("[") {
            return None;
        }
        let mut values = vec![self.value()?];
        let mut operators = Vec::new();
        while !self.take("]") {
            operators.push(self.operator()?);
            values.push(self.value()?);
        }
        for group in [&["**"][..], &["*", "/", "MOD"], &["+", "-", "OR", "XOR", "AND"]] {
            work_off(group, &mut operators, &mut values)?;
        }
        Some(values[0])
    }

    fn operator(&mut self) -> Option<&'static str> {
        // The longer before the shorter that begins alike.
        ["**", "*", "/", "MOD", "+", "-", "OR", "XOR", "AND"].into_iter().find(|operator| self.take(operator))
    }
}

/// A parameter's number.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked")]
pub(crate) fn index(number: f64) -> Option<u32> {
    let whole = number.round();
    ((number - whole).abs() < 1e-4 && (1.0..5400.0).contains(&whole)).then_some(whole as u32)
}

/// Applies the operators of one group from left to right and leaves the others.
fn work_off(group: &[&str], operators: &mut Vec<&str>, values: &mut Vec<f64>) -> Option<()> {
    while let Some(k) = operators.iter().position(|operator| group.contains(operator)) {
        let right = values.remove(k + 1);
        values[k] = Some(applied(operators.remove(k), values[k], right)).filter(|value| value.is_finite())?;
    }
    Some(())
}

fn applied(operator: &str, a: f64, b: f64) -> f64 {
    let truth = |value: bool| f64::from(u8::from(value));
    let (is_a, is_b) = (a != 0.0, b != 0.0);
    match operator {
        "**" => a.powf(b),
        "*" => a * b,
        "/" => a / b,
        // Never negative (from memory of how the language's first reader did it).
        "MOD" if a % b < 0.0 => a % b + b.abs(),
        "MOD" => a % b,
        "+" => a + b,
        "-" => a - b,
        "OR" => truth(is_a || is_b),
        "XOR" => truth(is_a != is_b),
        _ => truth(is_a && is_b),
    }
}

type Function = fn(f64) -> f64;

const FUNCTIONS: [(&str, Function); 12] = [
    ("ABS", f64::abs),
    ("ACOS", |x| x.acos().to_degrees()),
    ("ASIN", |x| x.asin().to_degrees()),
    ("COS", |x| x.to_radians().cos()),
    ("EXP", f64::exp),
    ("FIX", f64::floor),
    ("FUP", f64::ceil),
    ("LN", f64::ln),
    ("ROUND", f64::round),
    ("SIN", |x| x.to_radians().sin()),
    ("SQRT", f64::sqrt),
    ("TAN", |x| x.to_radians().tan()),
];
