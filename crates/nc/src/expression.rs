//! Expressions as a flat list of operations in the order in which they are worked out (NISTIR 6556, 3.3.2.2 to
//! 3.3.2.4).

use crate::parameters::Parameters;
use crate::value::Value;

/// One step; operands lie on a stack.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Op {
    /// Puts a number.
    Number(f64),
    /// Takes a number and puts the value of the parameter so numbered.
    Parameter,
    /// Takes a value and puts its opposite.
    Negate,
    /// Takes two and puts the result.
    Binary(Binary),
    /// Takes one and puts the result.
    Function(Function),
    /// The value on the stack is the result.
    End,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Binary {
    Power,
    Times,
    Over,
    Modulo,
    Plus,
    Minus,
    Or,
    Xor,
    And,
    ArcTangent,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Function {
    Abs,
    Acos,
    Asin,
    Cos,
    Exp,
    Fix,
    Fup,
    Ln,
    Round,
    Sin,
    Sqrt,
    Tan,
}

/// Why an expression has no value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Fault {
    DividedByZero,
    /// Root, logarithm or arc function of this number.
    OutsideFunction(Function, f64),
    /// This base to a broken power, or zero to a negative one.
    Power(f64, f64),
    /// No parameter has this number.
    Index(f64),
    TooLarge,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::DividedByZero => write!(f, "it divides by zero"),
            Self::OutsideFunction(function, x) => {
                write!(f, "{} of {x} does not exist", format!("{function:?}").to_uppercase())
            }
            Self::Power(base, exponent) => write!(f, "{base} to the power of {exponent} does not exist"),
            Self::Index(x) => write!(f, "there is no parameter {x}: they are numbered 1 to 5399"),
            Self::TooLarge => write!(f, "its result is too large"),
        }
    }
}

/// The value of the expression that begins at `ops[start]`. `stack` is scratch space.
pub(crate) fn evaluate(
    ops: &[Op],
    start: usize,
    parameters: &mut Parameters,
    stack: &mut Vec<Value>,
) -> Result<Value, Fault> {
    stack.clear();
    for op in &ops[start..] {
        let value = match *op {
            Op::Number(number) => Value::known(number),
            Op::Parameter => parameters.value(pop(stack))?,
            Op::Negate => -pop(stack),
            Op::Binary(binary) => {
                let right = pop(stack);
                let left = pop(stack);
                combine(binary, left, right)?
            }
            Op::Function(function) => apply(function, pop(stack))?,
            Op::End => break,
        };
        if !value.number.is_finite() {
            return Err(Fault::TooLarge);
        }
        stack.push(value);
    }
    Ok(pop(stack))
}

/// The compiler of expressions never leaves the stack short; zero stands in for what cannot happen.
fn pop(stack: &mut Vec<Value>) -> Value {
    debug_assert!(!stack.is_empty(), "an operation lacks its operand");
    stack.pop().unwrap_or(Value::ZERO)
}

fn combine(binary: Binary, left: Value, right: Value) -> Result<Value, Fault> {
    let truth = |yes: bool| Value {
        number: f64::from(u8::from(yes)),
        top: if left.is_known() && right.is_known() { 0.0 } else { f64::NAN },
    };
    let (a, b) = (left.number, right.number);
    Ok(match binary {
        Binary::Plus => left + right,
        Binary::Minus => left - right,
        Binary::Times if right.is_known() => left.times(b),
        Binary::Times if left.is_known() => right.times(a),
        Binary::Times => Value::lost(a * b),
        Binary::Over if b == 0.0 => return Err(Fault::DividedByZero),
        Binary::Over if right.is_known() => Value { number: a / b, top: left.top / b },
        Binary::Over => Value::lost(a / b),
        Binary::Modulo if b == 0.0 => return Err(Fault::DividedByZero),
        Binary::Modulo => both(left, right, a.rem_euclid(b)),
        Binary::Power => {
            let power = a.powf(b);
            if power.is_nan() || (a == 0.0 && b < 0.0) {
                return Err(Fault::Power(a, b));
            }
            both(left, right, power)
        }
        Binary::Or => truth(a != 0.0 || b != 0.0),
        Binary::And => truth(a != 0.0 && b != 0.0),
        Binary::Xor => truth((a != 0.0) != (b != 0.0)),
        Binary::ArcTangent => both(left, right, a.atan2(b).to_degrees()),
    })
}

fn both(left: Value, right: Value, number: f64) -> Value {
    if left.is_known() && right.is_known() { Value::known(number) } else { Value::lost(number) }
}

fn apply(function: Function, argument: Value) -> Result<Value, Fault> {
    let x = argument.number;
    let exists = match function {
        Function::Acos | Function::Asin => (-1.0..=1.0).contains(&x),
        Function::Ln => x > 0.0,
        Function::Sqrt => x >= 0.0,
        _ => true,
    };
    if !exists {
        return Err(Fault::OutsideFunction(function, x));
    }
    Ok(argument.through(|x| match function {
        Function::Abs => x.abs(),
        Function::Acos => x.acos().to_degrees(),
        Function::Asin => x.asin().to_degrees(),
        Function::Cos => x.to_radians().cos(),
        Function::Exp => x.exp(),
        Function::Fix => x.floor(),
        Function::Fup => x.ceil(),
        Function::Ln => x.ln(),
        Function::Round => x.round(),
        Function::Sin => x.to_radians().sin(),
        Function::Sqrt => x.sqrt(),
        Function::Tan => x.to_radians().tan(),
    }))
}
