//! The forecast in plain words.

use crate::flags::with_flags;
use crate::screen::{Screen, Tone};
use cell::{Cost, Cures, Forecast, Kind, PartForecast, Pause};
use cuts::CutId;
use desk::{
    Inputs, Reading,
    figures::{counted, distance, runs},
};
use units::{Current, Duration, Flow, Length, Pressure, Speed, System, Volume};

/// Parts listed one by one; the rest are counted.
const PARTS_LISTED: usize = 12;
/// Pauses named one by one.
const PAUSES_NAMED: usize = 6;
/// Facts listed as missing; the rest are counted.
const FACTS_LISTED: usize = 6;
/// Column at which what stands beside a heading begins.
const BESIDE: usize = 13;

/// Prints it.
pub(super) fn print(
    inputs: &Inputs,
    reading: &Reading,
    forecast: &Forecast,
    all: bool,
    screen: &mut Screen<'_>,
) {
    let mut account =
        Account { forecast, system: reading.system(inputs), currency: currency(inputs), screen };
    account.head(&inputs.name);
    account.no_start();
    account.times();
    account.speed(reading);
    account.air();
    account.duty();
    account.wear();
    account.energy();
    account.cost();
    account.parts(all);
    account.unforecast(&crate::words::all_assumed(reading, inputs));
}

fn currency(inputs: &Inputs) -> String {
    let money = inputs.shop.as_ref().and_then(|shop| shop.money.as_ref());
    money.map(|money| money.currency.clone()).unwrap_or_default()
}

struct Account<'a, 's> {
    forecast: &'a Forecast,
    system: System,
    currency: String,
    screen: &'a mut Screen<'s>,
}

impl Account<'_, '_> {
    fn row(&mut self, heading: &str, text: &str) {
        self.screen.paragraph(&format!("  {heading:<11}{text}"), BESIDE);
    }

    /// A row that says what would stop the job.
    fn trouble(&mut self, text: &str) {
        let word = self.screen.toned(Tone::Bad, "!");
        self.screen.paragraph(&format!("{:BESIDE$}{word} {text}", ""), BESIDE + 2);
    }

    fn head(&mut self, name: &str) {
        let whole = Duration::from_s(self.forecast.times.total_s());
        let starts = counted(self.forecast.starts as usize, "start", "starts");
        let arc = Duration::from_s(self.forecast.arc_s);
        let heading = self.screen.toned(Tone::Heading, name);
        self.screen.line(&format!("{heading}: {whole} if nothing goes wrong, {starts}, {arc} of arc"));
        self.screen.line("");
    }

    /// A program in whose words nothing starts the torch: what follows is only its travel.
    fn no_start(&mut self) {
        if self.forecast.starts == 0 {
            self.row("Starts", "none");
            self.trouble(
                "nothing in the program starts the torch as its words are read here, so this is its travel alone: tell \
                 the words of your control in `[table.words]` of a shop file",
            );
        }
    }

    fn times(&mut self) {
        let names = [
            (Kind::Cut, "cutting"),
            (Kind::Pierce, "start and pierce"),
            (Kind::TouchOff, "touch-off"),
            (Kind::Travel, "travel"),
            (Kind::Wait, "waiting"),
        ];
        let times = names.iter().map(|(kind, name)| (name, self.forecast.times.of(*kind)));
        let told: Vec<String> = times
            .filter(|(_, seconds)| *seconds > 0.0)
            .map(|(name, seconds)| format!("{name} {}", Duration::from_s(seconds)))
            .collect();
        let text = if told.is_empty() { "none".to_owned() } else { told.join(", ") };
        self.row("Time", &text);
    }

    /// Where the torch is slower than wanted.
    fn speed(&mut self, reading: &Reading) {
        let (slow, starved) = (&self.forecast.slow, &self.forecast.starved);
        let slow_mm: f64 = slow.iter().map(|cut| cut.all_mm).sum();
        let whole_mm: f64 = reading.list.cuts.iter().map(|cut| cut.length().mm()).sum();
        if whole_mm <= 0.0 {
            return;
        }
        let worst = slow.iter().max_by(|a, b| a.longest_mm.total_cmp(&b.longest_mm));
        let text = match worst {
            None => "the feed is reached everywhere, but for the very ends".to_owned(),
            Some(worst) => format!(
                "below {:.0} % of the feed over {} of {}; the longest stretch is {} in cut {}, down to {} where {} is \
                 wanted",
                cell::SLOW_SHARE * 100.0,
                distance(Length::from_mm(slow_mm), self.system),
                distance(Length::from_mm(whole_mm), self.system),
                Length::from_mm(worst.longest_mm).show(self.system),
                worst.cut.number(),
                Speed::from_mm_per_min(worst.lowest_mm_per_min).show(self.system),
                Speed::from_mm_per_min(worst.wanted_mm_per_min).show(self.system),
            ),
        };
        self.row("True speed", &text);
        if let Some(first) = starved.first() {
            let cuts: Vec<u32> = starved.iter().map(|cut| cut.cut.number()).collect();
            self.trouble(&format!(
                "blocks come faster than the control reads them in cut {}: down to {} where {} is wanted",
                runs(&cuts, 4),
                Speed::from_mm_per_min(first.lowest_mm_per_min).show(self.system),
                Speed::from_mm_per_min(first.wanted_mm_per_min).show(self.system),
            ));
        }
    }

    fn air(&mut self) {
        let used = self.forecast.gas_l.map(|litres| format!("{} of free air used", gas(litres, self.system)));
        let Some(air) = &self.forecast.air else {
            if let Some(used) = used {
                self.row("Air", &used);
            }
            return;
        };
        let system = self.system;
        let steady = air.lowest.filter(|lowest| lowest.bar >= air.plant.regulator_bar);
        let lowest = match (steady, air.lowest) {
            (Some(_), _) => {
                let bar = Pressure::from_bar(air.plant.regulator_bar).show(system);
                Some(format!("{bar} at the inlet throughout, as the regulator is set"))
            }
            (None, lowest) => lowest.map(|lowest| {
                let (bar, at) = (Pressure::from_bar(lowest.bar).show(system), Duration::from_s(lowest.at_s));
                format!("lowest at the inlet {bar}{}, {at} after the beginning", at_cut(lowest.cut))
            }),
        };
        let least =
            air.least_bar.map(|bar| format!("the source wants {}", Pressure::from_bar(bar).show(system)));
        let told: Vec<String> = [lowest, least, used].into_iter().flatten().collect();
        self.row("Air", &told.join("; "));
        let Some(short) = &air.short else { return };
        let what = if short.in_cut { "while it cuts" } else { "before the arc comes" };
        let (start, cut) = (short.start, short.cut);
        let (at, low) = (Duration::from_s(short.at_s), Pressure::from_bar(short.lowest_bar).show(system));
        let named = if cut.is_some_and(|cut| cut.number() == start) {
            format!("cut {start}")
        } else {
            format!("start {start}{}", at_cut(cut))
        };
        self.trouble(&format!(
            "the air falls short at {named}, {what}, {at} after the beginning: down to {low}"
        ));
        if let Some(cures) = &air.cures {
            let text = cures_named(cures, system);
            self.screen.paragraph(&format!("{:1$}{text}", "", BESIDE + 2), BESIDE + 2);
        }
    }

    fn duty(&mut self) {
        let Some(duty) = &self.forecast.duty else { return };
        let current = Current::from_a(duty.current_a).show(self.system);
        let allowed = match duty.allowed {
            Some(share) => format!("{:.0} % is allowed", share * 100.0),
            None => "nothing is promised above the source's highest rating".to_owned(),
        };
        let highest = duty.highest * 100.0;
        self.row("Duty cycle", &format!("at most {highest:.0} % of ten minutes at {current}; {allowed}"));
        if let Some(trip) = duty.trip {
            let at = Duration::from_s(trip.at_s);
            let cure = match &duty.pauses {
                Some(pauses) => format!("avoided by {}", pauses_named(pauses)),
                None => "no pause avoids it: one cut alone is too long".to_owned(),
            };
            self.trouble(&format!("the source trips{}, {at} after the beginning; {cure}", at_cut(trip.cut)));
        }
    }

    fn wear(&mut self) {
        let wear = &self.forecast.wear;
        let before = wear.before.map(|before| before.starts);
        let starts = before.unwrap_or(0.0) + wear.job.starts;
        let starts = format!("{starts} {}", if starts < 1.5 { "start" } else { "starts" });
        let mut told = vec![match (before, wear.life_starts) {
            (Some(_), Some(life)) => {
                format!("{starts} on the set by then, of {life} after which it is changed")
            }
            (Some(_), None) => format!("{starts} on the set by then"),
            (None, _) => format!("{starts} more on the set"),
        }];
        if let Some(lasts) = wear.lasts {
            told.push(format!("it lasts the job in {:.0} of 100 cases", lasts * 100.0));
        }
        self.row("Wear", &told.join("; "));
        if let Some(start) = wear.spent_at_start {
            let start = if start <= 1 {
                "has passed its life already".to_owned()
            } else {
                format!("passes its life at start {start}")
            };
            self.trouble(&format!("the set {start}"));
        }
    }

    fn energy(&mut self) {
        let Some(energy) = self.forecast.energy else { return };
        let mains = energy.mains_kwh.map_or(String::new(), |kwh| format!(", {kwh:.2} kWh from the mains"));
        self.row("Energy", &format!("{:.2} kWh in the arc{mains}", energy.arc_kwh));
    }

    fn cost(&mut self) {
        let cost = self.forecast.cost;
        let Some(sum) = cost.sum() else { return };
        let items = [
            (cost.time, "time"),
            (cost.power, "power"),
            (cost.gas, "gas"),
            (cost.consumables, "consumables"),
        ];
        let named: Vec<String> = items
            .into_iter()
            .filter_map(|(item, name)| Some(format!("{name} {}", self.money(item?))))
            .collect();
        let whole = if cost.is_whole() { "" } else { ", as far as prices are told" };
        let sum = self.money(sum);
        self.row("Cost", &format!("{} {sum}{whole}: {}", self.currency, named.join(", ")).replace("  ", " "));
    }

    fn money(&self, amount: f64) -> String {
        format!("{amount:.2}")
    }

    fn parts(&mut self, all: bool) {
        let parts = &self.forecast.parts;
        if parts.is_empty() {
            return;
        }
        self.screen.line("");
        let money = parts.iter().any(|part| part.cost.sum().is_some());
        let cost_head = if money { format!("  {:>9}", self.currency) } else { String::new() };
        let heading = format!(
            "  {:<6}{:>12}  {:>12}  {:>6}{cost_head}  {:>14}",
            "Part", "time", "arc", "starts", "loose after"
        );
        let heading = self.screen.toned(Tone::Heading, &heading);
        self.screen.line(&heading);
        let listed = if all { parts.len() } else { PARTS_LISTED };
        for part in parts.iter().take(listed) {
            let row = part_row(part, money);
            self.screen.line(&row);
        }
        if parts.len() > listed {
            let more = counted(parts.len() - listed, "more part", "more parts");
            self.screen.line(&format!("  and {more}; --all lists them"));
        }
    }

    fn unforecast(&mut self, assumed: &[String]) {
        self.screen.line("");
        let heading = self.screen.toned(Tone::Heading, "Taken for granted:");
        let mut granted: Vec<&str> = self.forecast.assumed.clone();
        granted.extend(assumed.iter().map(String::as_str));
        self.screen.paragraph(&format!("{heading} {}.", granted.join("; ")), 2);
        let Some(best) = self.forecast.unforecast.first() else {
            self.screen.line("Nothing went unforecast for want of a fact.");
            return;
        };
        self.screen.line("");
        let heading = self.screen.toned(Tone::Heading, "Not forecast, because nobody has told:");
        self.screen.line(&heading);
        for missing in self.forecast.unforecast.iter().take(FACTS_LISTED) {
            let figures = missing.figures.join(", ");
            let (fact, told_by) = (missing.lack.fact(), with_flags(missing.lack.told_by()));
            self.screen.paragraph(&format!("  {fact} ({told_by}): {figures}"), 4);
        }
        if self.forecast.unforecast.len() > FACTS_LISTED {
            let more = counted(self.forecast.unforecast.len() - FACTS_LISTED, "more fact", "more facts");
            self.screen.line(&format!("  and {more}; --json lists them"));
        }
        self.screen.line("");
        let heading = self.screen.toned(Tone::Heading, "What would add most:");
        let words = ("the word that starts the torch", "`[table.words]` in the shop file");
        let (fact, told_by) =
            if self.forecast.starts == 0 { words } else { (best.lack.fact(), best.lack.told_by()) };
        self.screen.paragraph(&format!("{heading} {fact}, told by {}.", with_flags(told_by)), 2);
    }
}

fn part_row(part: &PartForecast, money: bool) -> String {
    let cost = |cost: &Cost| cost.sum().map_or("-".to_owned(), |sum| format!("{sum:.2}"));
    let cost = if money { format!("  {:>9}", cost(&part.cost)) } else { String::new() };
    let starts = format!("{:.1}", part.starts);
    let starts = starts.strip_suffix(".0").unwrap_or(&starts);
    let loose = part.loose_at_s.map_or("never".to_owned(), |at_s| Duration::from_s(at_s).to_string());
    format!(
        "  {:<6}{:>12}  {:>12}  {starts:>6}{cost}  {loose:>14}",
        part.part.number(),
        Duration::from_s(part.times.total_s()).to_string(),
        Duration::from_s(part.arc_s).to_string(),
    )
}

fn at_cut(cut: Option<CutId>) -> String {
    cut.map_or(String::new(), |cut| format!(" at cut {}", cut.number()))
}

/// An amount of gas: `1.35 m³`, `47.8 cubic feet`.
fn gas(litres: f64, system: System) -> String {
    match system {
        System::Metric => format!("{:.2} m³", litres / 1000.0),
        System::Inch => format!("{:.1} cubic feet", litres / LITRES_PER_CUBIC_FOOT),
    }
}

/// Litres in a cubic foot, exact by definition.
const LITRES_PER_CUBIC_FOOT: f64 = 28.316_846_592;

/// What cures a shortage, each way by itself.
fn cures_named(cures: &Cures, system: System) -> String {
    let pauses = match &cures.pauses {
        None => Some("no pause cures it".to_owned()),
        Some(pauses) => Some(pauses_named(pauses)),
    };
    let ways = [
        pauses,
        cures.receiver_l.map(|l| format!("a receiver of {}", Volume::from_l(l).show(system))),
        cures.bore_mm.map(|mm| format!("a hose of {} bore", Length::from_mm(mm).show(system))),
        cures.hose_m.map(|m| format!("a hose of {}", distance(Length::from_mm(m * 1000.0), system))),
        cures
            .delivery_l_per_min
            .map(|flow| format!("a compressor that delivers {}", Flow::from_l_per_min(flow).show(system))),
    ];
    let ways: Vec<String> = ways.into_iter().flatten().collect();
    format!("cured by any one of: {}", ways.join("; "))
        .replace("cured by any one of: no pause cures it", "no pause cures it")
}

fn pauses_named(pauses: &[Pause]) -> String {
    let whole: u32 = pauses.iter().map(|pause| pause.seconds).sum();
    let named = |pause: &Pause| format!("{} s before start {}", pause.seconds, pause.start);
    let first: Vec<String> = pauses.iter().take(PAUSES_NAMED).map(named).collect();
    let more = pauses.len().saturating_sub(PAUSES_NAMED);
    let more = if more == 0 { String::new() } else { format!(" and {more} more, {whole} s in all") };
    format!("pauses ({}{more})", first.join(", "))
}
