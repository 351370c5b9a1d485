//! Which process a cut runs with.

use crate::{Job, Process, Shop};

/// Which process a cut runs with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ProcessOf<'a> {
    /// This one.
    Known(&'a Process),
    /// The program chooses a number that no process of the shop has.
    NumberUnknown(u32),
    /// The job names one that the shop does not have.
    NameUnknown(&'a str),
    /// Nobody says.
    Untold,
}

impl Shop {
    /// The process that runs where the program has chosen number `chosen`: as the program chooses it, else as the job
    /// names it, else the only one that fits what is fitted. Numbers count only where a process of the shop has one.
    #[must_use]
    pub fn process_of<'a>(&'a self, job: &'a Job, chosen: Option<u32>) -> ProcessOf<'a> {
        let any_numbered = || self.processes.iter().any(|process| process.number.is_some());
        match chosen.filter(|_| any_numbered()) {
            Some(number) => {
                self.process_numbered(number).map_or(ProcessOf::NumberUnknown(number), ProcessOf::Known)
            }
            None => self.process_of_job(job),
        }
    }

    fn process_of_job<'a>(&'a self, job: &'a Job) -> ProcessOf<'a> {
        if let Some(name) = &job.process {
            return self.process(name).map_or(ProcessOf::NameUnknown(name), ProcessOf::Known);
        }
        let mut fitted = self
            .processes_fitted()
            .filter(|process| job.material.is_none_or(|material| process.material == material));
        match (fitted.next(), fitted.next()) {
            (Some(only), None) => ProcessOf::Known(only),
            _ => ProcessOf::Untold,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHOP: &str = "\
        [[process]]\nname = \"fine\"\nnumber = 1\nmaterial = \"mild-steel\"\n\
        [[process]]\nname = \"coarse\"\nnumber = 2\nmaterial = \"mild-steel\"\nconsumables = \"big\"\n\
        [fitted]\nprocess = \"big\"\n";

    #[test]
    fn the_program_comes_before_the_job_and_the_job_before_what_is_fitted() {
        let (shop, findings) = Shop::parse(SHOP);
        assert_eq!(findings, vec![]);
        let name = |process: ProcessOf<'_>| match process {
            ProcessOf::Known(process) => process.name.clone(),
            other => format!("{other:?}"),
        };
        let job = Job { process: Some("fine".into()), ..Job::default() };
        assert_eq!(name(shop.process_of(&job, Some(2))), "coarse");
        assert_eq!(name(shop.process_of(&job, None)), "fine");
        assert_eq!(name(shop.process_of(&Job::default(), None)), "coarse");
        assert_eq!(shop.process_of(&job, Some(7)), ProcessOf::NumberUnknown(7));
        let other = Job { process: Some("other".into()), ..Job::default() };
        assert_eq!(shop.process_of(&other, None), ProcessOf::NameUnknown("other"));
        assert_eq!(Shop::unknown().process_of(&Job::default(), Some(3)), ProcessOf::Untold);
    }
}
