//! What is to be seen with one's own eyes before this very job is started.

use crate::figures::{counted, place};
use crate::{Inputs, Reading};
use cell::Forecast;
use geometry::Bounds;
use shop::{Material, Process, ProcessOf, Worded};
use units::{Current, Length, Pressure, System};

/// Something to see before a start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PreStart {
    /// Its name, in kebab-case.
    pub name: &'static str,
    /// What is to be so, for this job. Where the same words held at an earlier job, nothing changed since.
    pub what: String,
    /// Why.
    pub why: &'static str,
    /// What the forecast or the shop's counts add; empty if nothing.
    pub note: String,
    /// Whether it has to be seen for every plate anew; else only where its words changed.
    pub is_of_this_plate: bool,
}

/// What to see before the program of `reading` is started, in the order in which it is done at the table.
#[must_use]
pub fn pre_start(inputs: &Inputs, reading: &Reading, forecast: &Forecast) -> Vec<PreStart> {
    let job = Job { inputs, reading, system: reading.system(inputs) };
    let processes = job.processes();
    let current =
        processes.iter().filter_map(|process| process.current).max_by(|a, b| a.a().total_cmp(&b.a()));
    vec![
        job.program(),
        job.lead(),
        job.datum(),
        job.path_clear(),
        job.consumables(&processes),
        job.source(&processes),
        job.air(forecast),
        job.fume(&processes),
        job.fire(),
        job.eyes(current),
    ]
}

struct Job<'a> {
    inputs: &'a Inputs,
    reading: &'a Reading,
    system: System,
}

impl Job<'_> {
    fn length(&self, length: Length) -> String {
        length.show(self.system)
    }

    /// The processes that the program runs, each once, in the order in which they first run.
    fn processes(&self) -> Vec<&Process> {
        let Some(shop) = &self.inputs.shop else { return Vec::new() };
        let mut found: Vec<&Process> = Vec::new();
        for cut in &self.reading.list.cuts {
            if let ProcessOf::Known(process) = shop.process_of(&self.inputs.job, cut.process)
                && !found.iter().any(|other| other.name == process.name)
            {
                found.push(process);
            }
        }
        found
    }

    fn material(&self, processes: &[&Process]) -> Option<Material> {
        self.inputs.job.material.or_else(|| processes.first().map(|process| process.material))
    }

    fn program(&self) -> PreStart {
        let job = &self.inputs.job;
        let mut plate: Vec<String> = Vec::new();
        plate.extend(job.thickness.map(|thickness| self.length(thickness)));
        plate.extend(job.material.map(|material| words_of(material).to_owned()));
        plate.extend(job.plate.as_ref().map(|plate| {
            let [width, height] = plate.size();
            format!("{} × {}", self.length(width), self.length(height))
        }));
        let told = if plate.is_empty() { String::new() } else { format!(": {}", plate.join(", ")) };
        PreStart {
            name: "program",
            what: format!("{} is loaded, and this is its plate{told}.", self.inputs.name),
            why: "A program that was made for another plate cuts scrap from the first pierce on.",
            note: String::new(),
            is_of_this_plate: true,
        }
    }

    fn lead(&self) -> PreStart {
        PreStart {
            name: "work-lead",
            what: "The work lead is clamped on clean, bare metal of this plate, not on slats or paint."
                .into(),
            why: "The arc's way back leads through it; where it is loose or on scale, starts fail one after the other.",
            note: String::new(),
            is_of_this_plate: true,
        }
    }

    fn datum(&self) -> PreStart {
        let job = &self.inputs.job;
        let corner = "the plate's lower left corner";
        let at = match job.datum {
            Some([x, y]) if x != Length::ZERO || y != Length::ZERO => {
                format!("{} from {corner}", place(x, y, self.system))
            }
            _ => corner.to_owned(),
        };
        PreStart {
            name: "datum",
            what: format!("Program zero is set for this plate, at {at}, and seen there with the torch off."),
            why: "All cuts count from it; it is also what a restart counts on.",
            note: String::new(),
            is_of_this_plate: true,
        }
    }

    fn path_clear(&self) -> PreStart {
        let reach = self.reading.list.cuts.iter().filter_map(|cut| cut.path.bounds()).reduce(Bounds::union);
        let reach = reach.map_or_else(String::new, |reach| {
            let at = |x, y| place(Length::from_mm(x), Length::from_mm(y), self.system);
            format!(" from {} to {}", at(reach.min.x, reach.min.y), at(reach.max.x, reach.max.y))
        });
        let clamps: Vec<&str> = self.inputs.job.clamps.iter().map(|clamp| clamp.name.as_str()).collect();
        let besides =
            if clamps.is_empty() { String::new() } else { format!(" besides {}", clamps.join(", ")) };
        PreStart {
            name: "path-clear",
            what: format!("Nothing stands in the torch's way{reach}{besides}; nobody is within reach of it."),
            why: "A tool, a clamp or a tipped part costs the torch, and what it strikes moves the plate.",
            note: String::new(),
            is_of_this_plate: true,
        }
    }

    fn consumables(&self, processes: &[&Process]) -> PreStart {
        let sets: Vec<String> = processes
            .iter()
            .map(|process| {
                let set = process.consumables.as_ref();
                set.map_or_else(|| process.name.clone(), |set| format!("{set}, for {}", process.name))
            })
            .collect();
        let what = if sets.is_empty() {
            "The torch holds the set that this program's material and current need, seated and turned home."
                .into()
        } else {
            format!("The torch holds {}, seated and turned home.", sets.join(" and "))
        };
        PreStart {
            name: "consumables",
            what,
            why: "The wrong set ruins the nozzle or gives no arc; a worn one loses starts and the square side.",
            note: self.starts_behind(),
            is_of_this_plate: false,
        }
    }

    /// How much of the set's life is behind it, and what this job takes.
    fn starts_behind(&self) -> String {
        let fitted = self.inputs.shop.as_ref().and_then(|shop| shop.fitted.as_ref());
        let starts = counted(self.reading.list.cuts.len(), "start", "starts");
        match fitted.map(|fitted| (fitted.starts, fitted.life_starts)) {
            Some((Some(behind), Some(life))) => {
                format!("It has {behind} starts behind it of some {life}; this job takes {starts}.")
            }
            Some((Some(behind), None)) => {
                format!("It has {behind} starts behind it; this job takes {starts}.")
            }
            _ => format!("This job takes {starts}."),
        }
    }

    fn source(&self, processes: &[&Process]) -> PreStart {
        let set: Vec<String> = processes
            .iter()
            .filter_map(|process| {
                process.current.map(|current| format!("{} for {}", current.show(self.system), process.name))
            })
            .collect();
        let what = if set.is_empty() {
            "The source is set to the current of the set that is fitted, and shows no fault.".into()
        } else {
            format!("The source is set to {}, and shows no fault.", set.join(", "))
        };
        PreStart {
            name: "source",
            what,
            why: "Too much current for a set destroys it, too little does not cut through.",
            note: String::new(),
            is_of_this_plate: false,
        }
    }

    fn air(&self, forecast: &Forecast) -> PreStart {
        let least = self.inputs.shop.as_ref().and_then(|shop| shop.source.as_ref()?.pressure_min);
        let least = least.map_or_else(
            || "what the source's manual asks for".to_owned(),
            |least| format!("at least {}", least.show(self.system)),
        );
        let lowest = forecast.air.as_ref().and_then(|air| air.lowest);
        PreStart {
            name: "air",
            what: format!(
                "Air is on: {least} at the source's inlet while gas flows, not at rest; filter drained."
            ),
            why: "At rest every line shows full pressure; a hose or filter that is too narrow shows only in the flow.",
            note: lowest.map_or_else(String::new, |lowest| {
                format!("The forecast has it lowest at {}.", Pressure::from_bar(lowest.bar).show(self.system))
            }),
            is_of_this_plate: false,
        }
    }

    fn fume(&self, processes: &[&Process]) -> PreStart {
        let over_water = self.inputs.shop.as_ref().is_some_and(|shop| shop.table.over_water);
        let drawn = if over_water { "The water stands at its level" } else { "Extraction runs and draws" };
        let (more, why) = match self.material(processes) {
            Some(Material::Stainless) => (
                "; who is near wears what the shop's rules ask for chromium fume",
                "Fume of stainless steel holds chromium(VI), which causes cancer (29 CFR 1910.1026).",
            ),
            Some(Material::Galvanised) => (
                "; who is near wears what the shop's rules ask for zinc fume",
                "Fume of a zinc coat gives fever within hours.",
            ),
            Some(Material::Aluminium) if over_water => (
                ", stirred and clear of dross, and the air under the plate moves",
                "Dross of aluminium gives off hydrogen in water; gathered under the plate it may explode at a start.",
            ),
            _ => ("", "Fume and dust harm over years, and nobody feels it on the day."),
        };
        PreStart {
            name: "fume",
            what: format!("{drawn}{more}."),
            why,
            note: String::new(),
            is_of_this_plate: false,
        }
    }

    fn fire(&self) -> PreStart {
        PreStart {
            name: "fire",
            what: "Nothing that can burn is within 11 m (35 ft), below the slats or in the duct; else somebody watches for \
                   fire, during the work and at least half an hour after it."
                .into(),
            why: "Sparks run far and smoulder. 29 CFR 1910.252(a)(2)(iii); many shops and codes ask for an hour.",
            note: String::new(),
            is_of_this_plate: true,
        }
    }

    fn eyes(&self, current: Option<Current>) -> PreStart {
        PreStart {
            name: "eyes",
            what: format!("Whoever can see the arc is behind {}.", rescue::shade(current)),
            why: "The arc's rays burn eyes and skin within seconds, bystanders' too.",
            note: String::new(),
            is_of_this_plate: false,
        }
    }
}

fn words_of(material: Material) -> &'static str {
    let known = Material::WORDS.iter().find(|(_, other, _)| *other == material);
    known.map_or("", |(.., means)| means)
}

#[cfg(test)]
mod tests {
    use super::{PreStart, pre_start};
    use crate::{Inputs, Reading, forecast};

    const PROGRAM: &[u8] = include_bytes!("../../../demo/post-bases/program.nc");
    const SHOP: &str = include_str!("../../../demo/post-bases/shop.toml");

    fn list(shop: &str, job: &str) -> Vec<PreStart> {
        let mut inputs = Inputs::bundled("post-bases.nc", PROGRAM, shop, job);
        let reading = Reading::of(&mut inputs);
        pre_start(&inputs, &reading, &forecast(&inputs, &reading))
    }

    fn what(list: &[PreStart], name: &str) -> String {
        list.iter().find(|check| check.name == name).expect("it is on the list").what.clone()
    }

    #[test]
    fn what_is_to_be_seen_is_that_of_this_job() {
        let told = list(SHOP, "thickness = \"10 mm\"\nplate = \"1500x750 mm\"\nmaterial = \"mild-steel\"");
        assert!(
            what(&told, "program").contains("post-bases.nc")
                && what(&told, "program").contains("1500 mm × 750 mm")
        );
        assert!(
            what(&told, "consumables").contains("set 85, for steel 85"),
            "{}",
            what(&told, "consumables")
        );
        assert!(what(&told, "source").contains("85 A for steel 85"));
        assert!(what(&told, "air").contains("at least 4.6 bar"));
        let set = told.iter().find(|check| check.name == "consumables").expect("it is there");
        assert_eq!(set.note, "It has 210 starts behind it of some 500; this job takes 64 starts.");
        // 29 CFR 1910.133(a)(5): shade 8 below 300 A.
        assert!(what(&told, "eyes").contains("shade 8"));
    }

    #[test]
    fn nothing_is_made_up_where_nobody_told() {
        let told = list("", "");
        assert!(what(&told, "air").contains("what the source's manual asks for"));
        assert!(what(&told, "consumables").contains("that this program's material and current need"));
        assert!(what(&told, "eyes").contains("8, 9 from 300 A, 10 from 400 A"));
    }

    #[test]
    fn another_material_changes_what_hangs_on_it_alone() {
        let job = |material| format!("thickness = \"10 mm\"\nmaterial = \"{material}\"");
        let (steel, stainless) = (list(SHOP, &job("mild-steel")), list(SHOP, &job("stainless")));
        let changed: Vec<&str> =
            steel.iter().zip(&stainless).filter(|(a, b)| a.what != b.what).map(|(a, _)| a.name).collect();
        assert_eq!(changed, ["program", "fume"]);
        assert!(what(&stainless, "fume").contains("chromium"));
        let always: Vec<&str> =
            steel.iter().filter(|check| check.is_of_this_plate).map(|check| check.name).collect();
        assert_eq!(always, ["program", "work-lead", "datum", "path-clear", "fire"]);
    }
}
