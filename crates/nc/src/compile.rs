//! Real values as they stand in the text: numbers, `[ … ]`, `#…` and functions, turned into operations.

use crate::expression::{Binary, Function, Op};
use crate::number;

/// Deepest nesting of brackets, parameters and functions. People nest five deep; the bound keeps a line of ten
/// million brackets from exhausting the stack.
const DEPTH_MOST: u32 = 100;

/// What makes a real value unreadable, and where.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Unreadable {
    pub(crate) at: usize,
    pub(crate) why: &'static str,
}

/// Reads one real value of a line and writes its operations, without the closing [`Op::End`].
pub(crate) struct Compiler<'t> {
    text: &'t [u8],
    /// Where it reads.
    pub(crate) at: usize,
    ops: &'t mut Vec<Op>,
    depth: u32,
    strict: bool,
}

impl<'t> Compiler<'t> {
    pub(crate) fn new(text: &'t [u8], at: usize, ops: &'t mut Vec<Op>, strict: bool) -> Self {
        Self { text, at, ops, depth: 0, strict }
    }

    /// A number, a bracketed expression, a parameter's value or a function of one (NISTIR 6556, 3.3.2).
    pub(crate) fn real_value(&mut self) -> Result<(), Unreadable> {
        self.depth += 1;
        if self.depth > DEPTH_MOST {
            return Err(self.unreadable("it is nested too deep"));
        }
        let first = self.peek();
        match first {
            b'[' => self.bracketed()?,
            b'#' => self.parameter()?,
            b'A'..=b'Z' => self.function()?,
            b'-' | b'+' if self.signs_a_term() => {
                self.at += 1;
                self.real_value()?;
                if first == b'-' {
                    self.ops.push(Op::Negate);
                }
            }
            _ => {
                let number = number::read(self.text, &mut self.at);
                let number = number.ok_or_else(|| self.unreadable("a number is missing or unreadable"))?;
                self.ops.push(Op::Number(number));
            }
        }
        self.depth -= 1;
        Ok(())
    }

    /// After the `#`: the parameter's number, then its value.
    fn parameter(&mut self) -> Result<(), Unreadable> {
        self.at += 1;
        self.real_value()?;
        self.ops.push(Op::Parameter);
        Ok(())
    }

    fn bracketed(&mut self) -> Result<(), Unreadable> {
        self.at += 1;
        self.sum()?;
        if self.peek() != b']' {
            return Err(self.unreadable("a closing bracket `]` is missing"));
        }
        self.at += 1;
        Ok(())
    }

    /// `+ - OR XOR AND`, equal in rank, from left to right.
    fn sum(&mut self) -> Result<(), Unreadable> {
        self.product()?;
        loop {
            let operator = match self.peek() {
                b'+' => self.took(1, Binary::Plus),
                b'-' => self.took(1, Binary::Minus),
                b'O' if self.takes(b"OR") => Binary::Or,
                b'X' if self.takes(b"XOR") => Binary::Xor,
                b'A' if self.takes(b"AND") => Binary::And,
                _ => return Ok(()),
            };
            self.product()?;
            self.ops.push(Op::Binary(operator));
        }
    }

    /// `* / MOD`, equal in rank, from left to right.
    fn product(&mut self) -> Result<(), Unreadable> {
        self.power()?;
        loop {
            let operator = match self.peek() {
                b'*' => self.took(1, Binary::Times),
                b'/' => self.took(1, Binary::Over),
                b'M' if self.takes(b"MOD") => Binary::Modulo,
                _ => return Ok(()),
            };
            self.power()?;
            self.ops.push(Op::Binary(operator));
        }
    }

    /// `**`, from left to right too.
    fn power(&mut self) -> Result<(), Unreadable> {
        self.real_value()?;
        while self.takes(b"**") {
            self.real_value()?;
            self.ops.push(Op::Binary(Binary::Power));
        }
        Ok(())
    }

    fn function(&mut self) -> Result<(), Unreadable> {
        let found = FUNCTIONS.iter().find(|(name, _)| self.takes(name));
        let Some((_, function)) = found else {
            if self.takes(b"ATAN") {
                return self.arc_tangent();
            }
            return Err(self.unreadable("no function has this name"));
        };
        self.argument()?;
        self.ops.push(Op::Function(*function));
        Ok(())
    }

    /// `ATAN[…]/[…]`: the angle whose tangent is the quotient, in the right quarter of the circle.
    fn arc_tangent(&mut self) -> Result<(), Unreadable> {
        self.argument()?;
        if self.peek() != b'/' {
            return Err(self.unreadable("ATAN takes two values: ATAN[…]/[…]"));
        }
        self.at += 1;
        self.argument()?;
        self.ops.push(Op::Binary(Binary::ArcTangent));
        Ok(())
    }

    fn argument(&mut self) -> Result<(), Unreadable> {
        if self.peek() != b'[' {
            return Err(self.unreadable("a function takes its value in brackets `[ ]`"));
        }
        self.depth += 1;
        if self.depth > DEPTH_MOST {
            return Err(self.unreadable("it is nested too deep"));
        }
        self.bracketed()?;
        self.depth -= 1;
        Ok(())
    }

    /// Next byte that is no blank, in upper case; zero at the end of the line.
    pub(crate) fn peek(&mut self) -> u8 {
        while let Some(&byte) = self.text.get(self.at) {
            match byte {
                b' ' | b'\t' => self.at += 1,
                b'\n' | b'\r' => return 0,
                _ => return byte.to_ascii_uppercase(),
            }
        }
        0
    }

    /// Takes `name` if it stands here, blanks within it or not.
    fn takes(&mut self, name: &[u8]) -> bool {
        let start = self.at;
        for &letter in name {
            if self.peek() != letter {
                self.at = start;
                return false;
            }
            self.at += 1;
        }
        true
    }

    fn took<T>(&mut self, bytes: usize, what: T) -> T {
        self.at += bytes;
        what
    }

    /// Whether the sign here stands before something other than a number. The standard has no such sign; many
    /// programs do.
    fn signs_a_term(&self) -> bool {
        let after = self.text[self.at + 1..].iter().find(|byte| !matches!(byte, b' ' | b'\t'));
        !self.strict && after.is_some_and(|byte| matches!(byte, b'[' | b'#') || byte.is_ascii_alphabetic())
    }

    fn unreadable(&self, why: &'static str) -> Unreadable {
        Unreadable { at: self.at, why }
    }
}

const FUNCTIONS: [(&[u8], Function); 12] = [
    (b"ABS", Function::Abs),
    (b"ACOS", Function::Acos),
    (b"ASIN", Function::Asin),
    (b"COS", Function::Cos),
    (b"EXP", Function::Exp),
    (b"FIX", Function::Fix),
    (b"FUP", Function::Fup),
    (b"LN", Function::Ln),
    (b"ROUND", Function::Round),
    (b"SIN", Function::Sin),
    (b"SQRT", Function::Sqrt),
    (b"TAN", Function::Tan),
];
