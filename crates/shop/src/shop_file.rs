//! Reads the shop file.

use crate::chart::{Chart, ChartRow};
use crate::decode::{self, Reader};
use crate::model::{
    Air, AwaitsArc, Cause, DutyPoint, Fault, Fitted, Material, Money, Process, Shop, Source, Stock, Table,
    Wear,
};
use crate::thresholds::Thresholds;
use crate::{at_odds, outline, suggest, words};
use finding::Finding;
use units::{Duration, Length};

impl Shop {
    /// Reads a shop file. Never fails: what cannot be read is left out and told in the findings, sorted by place.
    ///
    /// # Example
    /// ```
    /// let (shop, findings) = shop::Shop::parse("[table]\nrapid = \"15 m/min\"\nspeeed = 3\n");
    /// assert_eq!(shop.table.rapid.unwrap().mm_per_min(), 15_000.0);
    /// assert_eq!(findings[0].rule, "key-unknown");
    /// ```
    #[must_use]
    pub fn parse(text: &str) -> (Self, Vec<Finding>) {
        decode::read(text, &crate::keys::SHOP, shop)
    }
}

fn shop(top: &Reader<'_, '_>) -> Shop {
    let processes = processes(top);
    let fitted = top.table("fitted").and_then(|table| fitted(&table, &processes));
    let shop = Shop {
        name: top.text("name").unwrap_or_default(),
        table: top.table("table").map_or_else(Table::unknown, |reader| table(&reader)),
        source: top.table("source").map(|table| source(&table)),
        fitted,
        air: top.table("air").map(|table| air(&table)),
        wear: top.table("wear").and_then(|table| wear(&table)),
        stock: stock(top),
        money: top.table("money").map(|table| money(&table)),
        causes: top.named("causes").into_iter().map(|(name, table)| cause(name, &table)).collect(),
        thresholds: top
            .table("thresholds")
            .map_or_else(Thresholds::default, |table| Thresholds::read(&table)),
        processes,
    };
    at_odds::find(top, &shop);
    shop
}

fn table(reader: &Reader<'_, '_>) -> Table {
    Table {
        travel: reader.point("travel"),
        rapid: reader.quantity("rapid"),
        acceleration: reader.quantity("acceleration"),
        rapid_z: reader.quantity("rapid_z"),
        path_tolerance: reader.quantity("path_tolerance"),
        blocks_per_second: reader.number("blocks_per_second"),
        touch_off_time: reader.quantity("touch_off_time"),
        slat_pitch: reader.quantity("slat_pitch"),
        keeps_offsets: reader.flag("keeps_offsets"),
        dialect: words::dialect(reader),
        safe_height: reader.quantity("safe_height"),
        home_switches: reader.flag("home_switches"),
        awaits_arc: awaits_arc(reader),
        start_at_line: reader.choice("start_at_line"),
        over_water: reader.flag("over_water").unwrap_or(false),
        delays_pierce: reader.flag("delays_pierce"),
    }
}

/// `for ever`, `5 s`, `3 retries` or `no`.
pub(crate) fn awaits_arc(reader: &Reader<'_, '_>) -> Option<AwaitsArc> {
    let text = reader.text("awaits_arc")?.to_ascii_lowercase().replace(['-', '_'], " ");
    let retries = ["retries", "retry"].iter().find_map(|word| text.strip_suffix(word));
    let read = match text.as_str() {
        "for ever" | "forever" => Some(AwaitsArc::ForEver),
        "no" => Some(AwaitsArc::No),
        _ => match retries {
            Some(number) => number.trim().parse().ok().map(AwaitsArc::Retries),
            None => text.parse().ok().filter(|time| *time > Duration::ZERO).map(AwaitsArc::TimesOut),
        },
    };
    if read.is_none() {
        reader.sink().error(
            "word-not-in-list",
            reader.span("awaits_arc"),
            format!("`{}` is no way of waiting for the arc", suggest::shortened(&text)),
            "write \"for ever\", a time such as \"5 s\", \"3 retries\", or \"no\"".into(),
        );
    }
    read
}

fn source(reader: &Reader<'_, '_>) -> Source {
    let mut faults: Vec<Fault> = Vec::new();
    for row in reader.tables("fault") {
        let Some(fault) = fault(&row) else { continue };
        if faults.iter().any(|other| other.code == fault.code) {
            name_twice(&row, "code", &fault.code);
        } else {
            faults.push(fault);
        }
    }
    Source {
        name: reader.text("name").unwrap_or_default(),
        duty: reader.tables("duty").iter().filter_map(duty_point).collect(),
        faults,
        standing_start: reader.choice("standing_start").unwrap_or_default(),
        pressure_min: reader.quantity("pressure_min"),
        isolation_wait: reader.quantity("isolation_wait"),
        preflow: reader.quantity("preflow"),
        transfer_time: reader.quantity("transfer_time"),
        post_flow: reader.quantity("post_flow"),
        efficiency: reader.number("efficiency"),
    }
}

fn name_twice(row: &Reader<'_, '_>, key: &str, name: &str) {
    let message = format!("`{}` is told twice", suggest::shortened(name));
    row.sink().error("name-twice", row.span(key), message, "give each a name of its own, or drop one".into());
}

fn duty_point(row: &Reader<'_, '_>) -> Option<DutyPoint> {
    let (share, current) = (row.number("share"), row.quantity("current"));
    Some(DutyPoint { share: share?, current: current? })
}

fn fault(row: &Reader<'_, '_>) -> Option<Fault> {
    let (code, cause, remedy) = (row.text("code"), row.text("cause"), row.text("remedy"));
    let (clears_by, points_at) = (row.choice("clears_by"), row.text("points_at"));
    Some(Fault { code: code?, cause: cause?, remedy: remedy?, clears_by: clears_by?, points_at })
}

fn processes(top: &Reader<'_, '_>) -> Vec<Process> {
    let mut processes: Vec<Process> = Vec::new();
    for row in top.tables("process") {
        let Some(process) = process(&row) else { continue };
        if processes.iter().any(|other| other.name == process.name) {
            name_twice(&row, "name", &process.name);
            continue;
        }
        if let Some(other) =
            processes.iter().find(|other| process.number.is_some() && other.number == process.number)
        {
            let message = format!("the number of `{}` is that of `{}` too", process.name, other.name);
            let remedy = "give each process the number by which programs choose it".into();
            row.sink().error("name-twice", row.span("number"), message, remedy);
        }
        processes.push(process);
    }
    processes
}

fn process(row: &Reader<'_, '_>) -> Option<Process> {
    let (name, material) = (row.text("name"), row.choice("material"));
    let (number, current, consumables) =
        (row.count("number"), row.quantity("current"), row.text("consumables"));
    let marks = row.flag("marks").unwrap_or(false);
    let chart = chart(row, material);
    Some(Process { name: name?, number, material: material?, current, consumables, marks, chart })
}

/// Thicknesses closer than this are the same row of a chart: below what any sheet is rolled to, above what turning
/// inches into millimetres loses.
const SAME_THICKNESS: Length = Length::from_mm(0.005);

fn chart(process: &Reader<'_, '_>, material: Option<Material>) -> Chart {
    let mut rows: Vec<ChartRow> = Vec::new();
    for row in process.tables("chart") {
        let Some(read) = chart_row(&row, material) else { continue };
        if rows.iter().any(|other| (other.thickness - read.thickness).abs() < SAME_THICKNESS) {
            let message = format!("the chart has a row for {} already", read.thickness);
            let remedy = "keep the row that is in the manual".into();
            row.sink().error("thickness-twice", row.span("thickness"), message, remedy);
        } else {
            rows.push(read);
        }
    }
    Chart::new(rows)
}

fn chart_row(row: &Reader<'_, '_>, material: Option<Material>) -> Option<ChartRow> {
    let thickness = row.thickness("thickness", material);
    let (pierce, cut) = (row.table("pierce"), row.table("cut"));
    let (pierce, cut) = (pierce.as_ref(), cut.as_ref());
    let read = ChartRow {
        thickness: thickness.unwrap_or_default(),
        pierce_height: pierce.and_then(|pierce| pierce.quantity("height")),
        pierce_delay: pierce.and_then(|pierce| pierce.quantity("delay")),
        cut_height: cut.and_then(|cut| cut.quantity("height")),
        cut_voltage: cut.and_then(|cut| cut.quantity("volts")),
        cut_speed: cut.and_then(|cut| cut.quantity("speed")),
        kerf: cut.and_then(|cut| cut.quantity("kerf")),
    };
    if let (Some(pierce), Some(pierce_mm), Some(cut_mm)) = (pierce, read.pierce_height, read.cut_height)
        && pierce_mm < cut_mm
    {
        let message = format!("the arc is started at {pierce_mm}, below the cut height of {cut_mm}");
        let remedy = "look in the manual whether the two were changed over".into();
        row.sink().error("facts-at-odds", pierce.span("height"), message, remedy);
    }
    thickness.map(|_| read)
}

fn fitted(table: &Reader<'_, '_>, processes: &[Process]) -> Option<Fitted> {
    let process = table.text("process");
    let fitted = Fitted {
        process: process.clone().unwrap_or_default(),
        starts: table.count("starts"),
        arc_time: table.quantity("arc_time"),
        life_starts: table.count("life_starts"),
    };
    let process = process?;
    let names: Vec<&str> = processes
        .iter()
        .flat_map(|known| std::iter::once(known.name.as_str()).chain(known.consumables.as_deref()))
        .collect();
    if !names.contains(&process.as_str()) {
        let remedy = match suggest::nearest(&process, &names) {
            Some(near) => format!("write \"{near}\""),
            None if names.is_empty() => "add a `[[process]]` with this name or consumable set".into(),
            None => format!("write one of {}", suggest::listed(&names)),
        };
        let message =
            format!("no process and no consumable set is called `{}`", suggest::shortened(&process));
        table.sink().error("name-unknown", table.span("process"), message, remedy);
    }
    Some(fitted)
}

fn air(table: &Reader<'_, '_>) -> Air {
    Air {
        delivery: table.quantity("delivery"),
        receiver: table.quantity("receiver"),
        cut_in: table.quantity("cut_in"),
        cut_out: table.quantity("cut_out"),
        regulator: table.quantity("regulator"),
        hose_length: table.quantity("hose_length"),
        hose_bore: table.quantity("hose_bore"),
        altitude: table.quantity("altitude"),
        torch_flow: table.quantity("torch_flow"),
        gas_flow: table.quantity("gas_flow"),
    }
}

fn wear(table: &Reader<'_, '_>) -> Option<Wear> {
    let (per_arc_minute, per_snap) = (table.number("per_arc_minute"), table.number("per_snap"));
    let (life, shape) = (table.number("life"), table.number("shape"));
    Some(Wear {
        per_arc_minute: per_arc_minute.unwrap_or(0.0),
        per_snap: per_snap.unwrap_or(0.0),
        life: life?,
        shape: shape?,
    })
}

fn stock(top: &Reader<'_, '_>) -> Vec<Stock> {
    let mut stock: Vec<Stock> = Vec::new();
    for row in top.tables("stock") {
        let (name, material) = (row.text("name"), row.choice("material"));
        let (thickness, outline) = (row.thickness("thickness", material), outline::read(&row, "plate"));
        let (Some(name), Some(material), Some(thickness), Some(outline)) =
            (name, material, thickness, outline)
        else {
            continue;
        };
        if stock.iter().any(|other| other.name == name) {
            name_twice(&row, "name", &name);
        } else {
            stock.push(Stock { name, material, thickness, outline });
        }
    }
    stock
}

fn money(table: &Reader<'_, '_>) -> Money {
    Money {
        currency: table.text("currency").unwrap_or_default(),
        hour: table.number("hour"),
        plate_kg: table.number("plate_kg"),
        consumable_set: table.number("consumable_set"),
        kwh: table.number("kwh"),
        gas_m3: table.number("gas_m3"),
    }
}

fn cause(name: String, table: &Reader<'_, '_>) -> Cause {
    let seen = table.numbers("seen").into_iter().map(|(name, _, share)| (name, share)).collect();
    Cause { name, prior: table.number("prior"), seen }
}
