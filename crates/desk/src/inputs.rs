//! What an answer is worked out from: a program, and what is known of its job and shop.

use nc::Dialect;
use shop::{Job, Shop};
use units::{Length, System};

/// Everything read and settled.
#[derive(Clone, Debug)]
pub struct Inputs {
    /// The program's name, without folders.
    pub name: String,
    /// The program's bytes; [`Reading::of`](crate::Reading::of) takes them out of here.
    pub text: Vec<u8>,
    /// The shop, if told.
    pub shop: Option<Shop>,
    /// The job: what a job file or a form says.
    pub job: Job,
    /// Width of the kerf, if told for this job.
    pub kerf: Option<Length>,
    /// Width of the kerf as an earlier rescue took it.
    pub kerf_before: Option<Length>,
    /// Units to answer in, if told.
    pub units: Option<System>,
}

impl Inputs {
    /// A job whose files are part of this program.
    ///
    /// # Panics
    /// If shop or job file have mistakes: they are held by tests.
    #[must_use]
    pub fn bundled(name: &str, text: &[u8], shop: &str, job: &str) -> Self {
        let (shop, of_shop) = Shop::parse(shop);
        let (job, of_job) = Job::parse(job);
        assert!(of_shop.is_empty() && of_job.is_empty(), "bundled files are sound: {of_shop:?} {of_job:?}");
        Self {
            name: name.to_owned(),
            text: text.to_vec(),
            shop: Some(shop),
            job,
            kerf: None,
            kerf_before: None,
            units: None,
        }
    }

    /// The words the program is written with: the shop's, or the common ones.
    #[must_use]
    pub fn dialect(&self) -> Dialect {
        self.shop.as_ref().map_or_else(Dialect::common, |shop| shop.table.dialect.clone())
    }

    /// The program's name without ending, for the names of what is made from it.
    #[must_use]
    pub fn stem(&self) -> &str {
        match self.name.rfind('.') {
            Some(dot) if dot > 0 => &self.name[..dot],
            _ => &self.name,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Inputs;

    #[test]
    fn the_stem_is_the_name_without_its_ending() {
        let mut inputs = Inputs::bundled("", b"", "", "");
        for (name, stem) in [("a.nc", "a"), ("a.b.nc", "a.b"), ("a", "a"), (".nc", ".nc"), ("", "")] {
            inputs.name = name.to_owned();
            assert_eq!(inputs.stem(), stem, "{name}");
        }
    }
}
