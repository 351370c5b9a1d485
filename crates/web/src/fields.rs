//! Fields of a form, and the proof that the form was made here for this visitor.

use crate::app::App;
use crate::guard::Visit;
use crate::problem::Problem;
use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use ledger::Id;
use std::str::FromStr;
use std::sync::Arc;

/// Name of the field that shows that the form was made here.
pub(crate) const FORM_CODE: &str = "form";
/// Name of the field with the name under which what is entered is kept.
pub(crate) const ENTRY: &str = "entry";

/// The fields of a form that was made here for this visitor.
#[derive(Clone, Debug)]
pub(crate) struct Fields(Vec<(String, String)>);

impl Fields {
    /// A field; blanks around it are taken off. Nothing if it is missing or empty.
    pub(crate) fn get(&self, name: &str) -> Option<&str> {
        let found = self.0.iter().find(|(other, _)| other == name);
        found.map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
    }

    /// A field as it was sent.
    pub(crate) fn raw(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(other, _)| other == name).map(|(_, value)| value.as_str())
    }

    /// A field that our own forms never leave out or fill with anything else.
    pub(crate) fn must<T: FromStr>(&self, name: &str) -> Result<T, Problem> {
        self.get(name).and_then(|value| value.parse().ok()).ok_or_else(Problem::malformed)
    }

    /// The name under which what is entered is kept.
    pub(crate) fn entry(&self) -> Result<Id, Problem> {
        self.must(ENTRY)
    }

    /// The fields of text in the form in which browsers send them.
    pub(crate) fn of(text: &str) -> Self {
        let pair = |pair: &str| {
            let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
            (unescaped(name), unescaped(value))
        };
        Self(text.split('&').filter(|pair| !pair.is_empty()).map(pair).collect())
    }

    /// Fields gathered one by one.
    pub(crate) fn gathered(fields: Vec<(String, String)>) -> Self {
        Self(fields)
    }

    /// The same with a field more, unless it is there and filled in.
    pub(crate) fn or(mut self, name: &str, value: String) -> Self {
        if self.get(name).is_none() {
            self.0.retain(|(other, _)| other != name);
            self.0.push((name.to_owned(), value));
        }
        self
    }

    /// Refuses fields of a form that was not made here for this visitor.
    pub(crate) fn check(&self, app: &App, visit: Visit) -> Result<(), Problem> {
        let told = self.get(FORM_CODE).unwrap_or_default();
        let own = visit.session.is_some_and(|session| app.keys.is_form_code(session, told));
        if own { Ok(()) } else { Err(Problem::foreign_form()) }
    }
}

impl FromRequest<Arc<App>> for Fields {
    type Rejection = Problem;

    async fn from_request(request: Request, app: &Arc<App>) -> Result<Self, Problem> {
        let kind = request.headers().get(axum::http::header::CONTENT_TYPE);
        let is_form =
            kind.is_some_and(|kind| kind.as_bytes().starts_with(b"application/x-www-form-urlencoded"));
        let visit = request.extensions().get::<Visit>().copied().ok_or_else(Problem::foreign_form)?;
        if !is_form {
            return Err(Problem::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "What was sent is no form of this page.",
                "Load the page again and enter it once more.",
            ));
        }
        let body =
            Bytes::from_request(request, app).await.map_err(|why| Problem::not_received(why.status()))?;
        let fields = Self::of(std::str::from_utf8(&body).map_err(|_| Problem::malformed())?);
        fields.check(app, visit)?;
        Ok(fields)
    }
}

/// `text` with what has a meaning in an address escaped.
pub(crate) fn escaped(text: &str) -> String {
    text.bytes().fold(String::with_capacity(text.len()), |mut out, byte| {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
        out
    })
}

/// What `escaped` and browsers escape, as it was. What is no text is replaced.
pub(crate) fn unescaped(text: &str) -> String {
    let bytes = text.as_bytes();
    let (mut out, mut k) = (Vec::with_capacity(bytes.len()), 0);
    while k < bytes.len() {
        let digits = bytes.get(k + 1..k + 3).and_then(|pair| std::str::from_utf8(pair).ok());
        match (bytes[k], digits.and_then(|digits| u8::from_str_radix(digits, 16).ok())) {
            (b'%', Some(byte)) => {
                out.push(byte);
                k += 3;
                continue;
            }
            (b'+', _) => out.push(b' '),
            (byte, _) => out.push(byte),
        }
        k += 1;
    }
    String::from_utf8_lossy(&out).into_owned()
}

#[cfg(test)]
mod tests {
    use super::{Fields, escaped, unescaped};

    #[test]
    fn fields_are_as_they_were_typed() {
        let fields = Fields::of("a=1+2&b=%C3%A4%26%3D&c=&d&a=3&e=%zz%4");
        assert_eq!(fields.get("a"), Some("1 2"));
        assert_eq!(fields.get("b"), Some("ä&="));
        assert_eq!((fields.get("c"), fields.get("d"), fields.get("f")), (None, None, None));
        assert_eq!(fields.get("e"), Some("%zz%4"));
    }

    #[test]
    fn what_is_escaped_comes_back() {
        for text in ["/jobs/1?a=b&c=d", "ä %+", "", "\r\nSet-Cookie: a=b"] {
            assert_eq!(unescaped(&escaped(text)), text);
        }
        assert!(!escaped("\r\n").contains('\n'));
    }
}
