//! Evidence worked out from program, plate, shop and job. A fact not told gives no evidence.

use crate::Situation;
use cuts::{Cut, CutId, Ground, PlateState};
use geometry::{Point, Program, Side};
use shop::{ChartRow, DutyPoint, Lookup, Process, Shop, StopKind, StopReport};
use units::{Current, Duration, Length};

/// How near the plate's edge a pierce must lie to count as standing over it. Pilot arcs reach some millimetres
/// (common practice: up to twice the cut height).
const EDGE_REACH: Length = Length::from_mm(5.0);

/// How far above the chart a pierce height counts as too high. The usual spread of pierce heights is 1.5 to 2.5 times
/// the cut height (common practice), so a third above the chart is beyond what charts differ by.
const TOO_HIGH: f64 = 1.33;

/// Sheet up to this thickness gives way under a touch-off (common practice).
const FLEXES_TO: Length = Length::from_mm(3.0);

/// Period of the duty cycle. Source: American Welding Society online glossary, "duty cycle".
const DUTY_PERIOD: Duration = Duration::from_s(600.0);

/// One thing worked out: the word of its answer and how it is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Computed {
    pub(super) word: &'static str,
    pub(super) because: String,
}

fn computed(word: &'static str, because: impl Into<String>) -> Computed {
    Computed { word, because: because.into() }
}

/// All evidence there is about a stop at `cut` on a plate in `state`, and the facts that would give more.
pub(super) fn evidence(
    situation: &Situation<'_>,
    stop: &StopReport,
    cut: CutId,
    state: &PlateState,
) -> (Vec<Computed>, Vec<String>) {
    let mut missing = Vec::new();
    let cut = situation.list.cut(cut);
    let mut found = vec![starts_before(state), touch_off(cut)];
    found.extend(under_pierce(situation, cut, state));
    found.extend(arc_came(stop));
    found.extend(way_of_arc(situation, stop, cut, state));
    let mut take = |evidence: Result<Computed, &str>| match evidence {
        Ok(evidence) => found.push(evidence),
        Err(fact) => missing.push(fact.to_string()),
    };
    take(plate_flexes(situation));
    match situation.shop {
        None => missing
            .push("the shop file: what is fitted, its starts, fault codes, charts and duty points".into()),
        Some(shop) => {
            let process = process_of(shop, situation, cut);
            take(process_fitted(shop, process));
            take(set_age(shop));
            take(duty(shop, process, situation, cut, state));
            take(pierce_height(process, situation, cut));
            take(speed(shop, process, situation, cut));
        }
    }
    (found, missing)
}

/// The process that `cut` runs with: by the number in the program, else by the job's name.
pub(crate) fn process_of<'s>(shop: &'s Shop, situation: &Situation<'_>, cut: &Cut) -> Option<&'s Process> {
    let by_number = cut.process.and_then(|number| shop.processes.iter().find(|p| p.number == Some(number)));
    by_number.or_else(|| {
        let name = situation.job.process.as_ref()?;
        shop.processes.iter().find(|p| p.name == *name)
    })
}

/// That an arc burned, which a stop tells that left the torch standing in it.
fn arc_came(stop: &StopReport) -> Option<Computed> {
    let came = stop.kind == Some(StopKind::NoMotion);
    came.then(|| computed("arc-on-plate", "the arc burned on the plate, and the torch did not move"))
}

/// What lies under the pierce; none where it is the cut's own kerf, which was not there before this start, or was
/// started elsewhere by whoever took it up.
fn under_pierce(situation: &Situation<'_>, cut: &Cut, state: &PlateState) -> Option<Computed> {
    let at = cut.pierce.at;
    if let Some(plate) = &situation.ground.plate
        && plate.side_of(at, EDGE_REACH.mm()) != Side::Inside
    {
        return Some(computed(
            "edge-under-pierce",
            "the pierce lies at or beyond the plate's edge as the job places it",
        ));
    }
    Some(match state.ground_at(situation.list, situation.index, at, Length::ZERO) {
        Ground::Metal => computed("solid-under-pierce", "no kerf made so far runs under the pierce"),
        Ground::Kerf(own) if own == cut.id => return None,
        Ground::Kerf(other) => {
            computed("void-under-pierce", format!("the kerf of cut {} runs under the pierce", other.number()))
        }
        Ground::Loose(outline) | Ground::Void(outline) => {
            let freed_by =
                state.piece(outline).map_or(situation.list.contour(outline).cut, |piece| piece.freed_by);
            computed(
                "void-under-pierce",
                format!("the pierce lies on a piece that cut {} freed", freed_by.number()),
            )
        }
        Ground::OutsidePlate => {
            computed("edge-under-pierce", "the pierce lies beyond the plate as the job places it")
        }
    })
}

/// How far ahead of the place where an arc went out it may have met what put it out: a report is good to some
/// millimetres, and an arc lives on a little past the edge of metal.
const AHEAD_MM: f64 = 6.0;

/// Step in which the way ahead is looked at.
const LOOK_STEP_MM: f64 = 0.5;

/// What lay in the arc's way where it went out; none if nobody said where.
fn way_of_arc(
    situation: &Situation<'_>,
    stop: &StopReport,
    cut: &Cut,
    state: &PlateState,
) -> Option<Computed> {
    let place =
        |at: [Length; 2]| cut.path.nearest(Point::new(at[0].mm(), at[1].mm())).map(|near| near.along_mm);
    let lengths = [stop.kerf_to, stop.stopped_along].into_iter().flatten().map(Length::mm);
    let places = [stop.kerf_at, stop.at].into_iter().flatten().filter_map(place);
    let out_mm = lengths.chain(places).find(|along| along.is_finite())?;
    let ends_mm = (out_mm + AHEAD_MM).min(cut.path.length_mm());
    let mut along_mm = out_mm;
    while along_mm <= ends_mm {
        let at = cut.path.point_at(along_mm)?;
        if let Some(met) = met_at(situation, cut, along_mm, at, state) {
            return Some(met);
        }
        along_mm += LOOK_STEP_MM;
    }
    Some(computed("over-metal", "no kerf made so far and no edge lies in the arc's way there"))
}

/// What puts an arc out at a place of its path.
fn met_at(
    situation: &Situation<'_>,
    cut: &Cut,
    along_mm: f64,
    at: Point<Program>,
    state: &PlateState,
) -> Option<Computed> {
    let kerf_mm = state.kerf().mm();
    let own = cut.path.piece(0.0, (along_mm - 3.0 * kerf_mm).max(0.0));
    if own.nearest(at).is_some_and(|near| near.distance_mm < kerf_mm / 2.0) {
        return Some(computed("over-void", "the arc came back to the kerf that it had cut itself"));
    }
    let beyond = situation.ground.plate.as_ref().is_some_and(|plate| plate.side_of(at, 0.0) != Side::Inside);
    if beyond {
        return Some(computed("over-edge", "the path leaves the plate there as the job places it"));
    }
    match state.ground_at(situation.list, situation.index, at, Length::ZERO) {
        Ground::Kerf(other) if other != cut.id => Some(computed(
            "over-void",
            format!("the kerf of cut {} lies in the arc's way there", other.number()),
        )),
        Ground::OutsidePlate => {
            Some(computed("over-edge", "the path leaves the plate there as the job places it"))
        }
        Ground::Kerf(_) | Ground::Metal | Ground::Loose(_) | Ground::Void(_) => None,
    }
}

fn starts_before(state: &PlateState) -> Computed {
    match state.progress().made.len() {
        0 => computed("first-start-of-program", "it was the first start of this program"),
        1 => computed("later-start", "an earlier start of this program went well"),
        made => computed("later-start", format!("{made} earlier starts of this program went well")),
    }
}

fn touch_off(cut: &Cut) -> Computed {
    if cut.touch_off.is_some() {
        computed("touch-off-before-start", "a touch-off comes before this start")
    } else {
        computed("no-touch-off-before-start", "the program has no touch-off before this start")
    }
}

fn plate_flexes(situation: &Situation<'_>) -> Result<Computed, &'static str> {
    let thickness = situation.job.thickness.ok_or("the plate's thickness")?;
    let word = if thickness <= FLEXES_TO { "plate-thin" } else { "plate-stout" };
    Ok(computed(word, format!("the plate is {} mm thick", thickness.mm())))
}

fn process_fitted(shop: &Shop, process: Option<&Process>) -> Result<Computed, &'static str> {
    let fitted = shop.fitted.as_ref().ok_or("what is fitted in the torch")?;
    let process = process.ok_or("the process this program needs")?;
    let same = fitted.process == process.name || process.consumables.as_ref() == Some(&fitted.process);
    let same_set = || {
        let other = shop.processes.iter().find(|p| p.name == fitted.process)?;
        Some(other.consumables.is_some() && other.consumables == process.consumables)
    };
    Ok(if same || same_set().unwrap_or(false) {
        computed("process-fitted", format!("\"{}\" is fitted and is what the program needs", fitted.process))
    } else {
        computed(
            "process-not-fitted",
            format!("the program needs \"{}\", but \"{}\" is fitted", process.name, fitted.process),
        )
    })
}

fn set_age(shop: &Shop) -> Result<Computed, &'static str> {
    let fitted = shop.fitted.as_ref().ok_or("what is fitted in the torch")?;
    let starts = fitted.starts.ok_or("the starts made on the fitted set")?;
    let life = fitted.life_starts.ok_or("the starts after which a set is changed")?;
    let because = format!("the set has made {starts} starts of {life}");
    let word = match (f64::from(starts), f64::from(life)) {
        (starts, life) if starts > life => "set-over-life",
        (starts, life) if starts > life / 2.0 => "set-in-life",
        _ => "set-young",
    };
    Ok(computed(word, because))
}

fn duty(
    shop: &Shop,
    process: Option<&Process>,
    situation: &Situation<'_>,
    cut: &Cut,
    state: &PlateState,
) -> Result<Computed, &'static str> {
    let points = shop.source.as_ref().map_or(&[][..], |source| &source.duty);
    let current = process.and_then(|p| p.current).ok_or("the current of the process")?;
    let allowed = allowed_share(points, current).ok_or("the duty points of the source")?;
    let share = arc_share_before(situation, cut, state);
    let because = format!(
        "the arc burned {:.0} % of the ten minutes before, {:.0} % is allowed",
        share * 100.0,
        allowed * 100.0
    );
    Ok(computed(if share > allowed { "duty-over" } else { "duty-within" }, because))
}

/// Share of the duty period that the source may burn at `current`; none without rated points. Between points the
/// rule of heating by the square of the current; above the highest rated current, none of it.
/// Source: X₂ = X₁ (I₁ / I₂)², standard rule, from memory.
fn allowed_share(points: &[DutyPoint], current: Current) -> Option<f64> {
    if points.is_empty() {
        return None;
    }
    let above = points.iter().filter(|point| point.current >= current);
    let nearest = above.min_by(|a, b| a.current.a().total_cmp(&b.current.a()));
    Some(nearest.map_or(0.0, |point| (point.share * (point.current / current).powi(2)).min(1.0)))
}

/// Share of the duty period before `cut`'s start in which the arc burned, by the program's nominal clock.
fn arc_share_before(situation: &Situation<'_>, cut: &Cut, state: &PlateState) -> f64 {
    let from = cut.starts_at - DUTY_PERIOD;
    let burned: Duration = situation.list.cuts[..cut.id.0 as usize]
        .iter()
        .rev()
        .take_while(|before| before.ends_at > from)
        .filter(|before| !state.is_dry(before.id))
        .map(|before| before.ends_at - before.starts_at.max(from))
        .sum();
    burned / DUTY_PERIOD
}

/// What the chart says at the plate's thickness.
fn chart_row(process: Option<&Process>, situation: &Situation<'_>) -> Result<ChartRow, &'static str> {
    let process = process.ok_or("the process this program needs")?;
    let thickness = situation.job.thickness.ok_or("the plate's thickness")?;
    match process.chart.at(thickness) {
        Lookup::Row(row) => Ok(row),
        _ => Err("a chart row for this thickness"),
    }
}

fn pierce_height(
    process: Option<&Process>,
    situation: &Situation<'_>,
    cut: &Cut,
) -> Result<Computed, &'static str> {
    let row = chart_row(process, situation)?;
    let chart = row.pierce_height.ok_or("the pierce height in the chart")?;
    let nc::Height { base: nc::HeightBase::PlateTop, mm } = cut.pierce.height else {
        return Err("the height of this pierce above the plate (the program does not tell it)");
    };
    let because = format!("the program pierces at {mm:.1} mm, the chart says {:.1} mm", chart.mm());
    let word = if mm > chart.mm() * TOO_HIGH { "pierce-height-over-chart" } else { "pierce-height-on-chart" };
    Ok(computed(word, because))
}

/// The cut's speed against the chart's.
fn speed(
    shop: &Shop,
    process: Option<&Process>,
    situation: &Situation<'_>,
    cut: &Cut,
) -> Result<Computed, &'static str> {
    let row = chart_row(process, situation)?;
    let chart = row.cut_speed.ok_or("the speed in the chart")?.mm_per_min();
    let feed = cut.feed_mm_per_min.ok_or("the speed of this cut (the program sets none)")?;
    let because = format!("the program runs at {feed:.0} mm/min, the chart says {chart:.0} mm/min");
    let share = feed / chart;
    let allowed = shop.thresholds.speed_share;
    let word = if share > 1.0 + allowed {
        "speed-over-chart"
    } else if share < 1.0 - allowed {
        "speed-under-chart"
    } else {
        "speed-on-chart"
    };
    Ok(computed(word, because))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_allowed_share_rises_with_the_square_of_the_current_below_a_rated_point() {
        let points = [DutyPoint { share: 0.35, current: Current::from_a(45.0) }];
        // 35 % at 45 A gives 78.75 % at 30 A (the rule above, worked by hand), and never more than all of it.
        let share = |a: f64| allowed_share(&points, Current::from_a(a)).unwrap();
        assert!((share(30.0) - 0.7875).abs() < 1e-12);
        assert!((share(20.0) - 1.0).abs() < 1e-12);
        assert!(share(60.0) < 1e-12);
        assert_eq!(allowed_share(&[], Current::from_a(30.0)), None);
    }
}
