//! Flow duration: for which share of the time a stream brings at least a flow, with the part of it
//! that the turbine takes.

use forebay_formulas::find;
use forebay_sheet::{Drawing, Sheet};
use forebay_units::{Dimension, Unit};

use super::axes::{Axis, FIELD, Frame};
use super::data::{digits, numbers, with_unit};
use super::lines::{Named, broken, name_curves, room_for_names};
use super::svg::{Anchor, Fill, Stroke};
use super::table::DataTable;
use super::{Picture, heading};

pub(crate) fn paint(drawing: &Drawing, _: &mut Sheet) -> Result<Picture, String> {
    let flows = drawing.under("flows").next().ok_or("`flows` is missing")?;
    let unit = drawing.unit.clone().or_else(|| flows.unit().cloned()).unwrap_or(Unit::ONE);
    let value = flows.value().ok_or("`flows` has no value")?;
    let mut record: Vec<f64> = numbers(value, &unit);
    let all = record.len();
    // A gap is no flow, nor none.
    record.retain(|flow| flow.is_finite());
    record.sort_by(|a, b| b.total_cmp(a));
    if record.len() < 2 {
        return Err("a duration needs at least two flows".to_owned());
    }
    let gaps = all - record.len();
    let shares = shares(&record)?;
    let number = |key: &str| drawing.number(key).map(|si| unit.from_si(si));
    let design = number("design_flow").ok_or("`design_flow` is missing")?;
    let (residual, least) = (number("residual_flow"), number("least_flow").unwrap_or(0.0));
    let kept = residual.unwrap_or(0.0);
    let taken: Vec<f64> = record
        .iter()
        .map(|flow| (flow - kept).min(design))
        .map(|flow| if flow >= least && flow > 0.0 { flow } else { 0.0 })
        .collect();
    let y =
        Axis::from_zero(with_unit("flow", &unit), record.iter().copied().chain([kept + design]));
    let x = Axis {
        low: 0.0,
        high: 100.0,
        ticks: (0..=5).map(|at| (20.0 * f64::from(at), (20 * at).to_string())).collect(),
        label: "share of the time (%)".to_owned(),
        names: false,
    };
    let mean = |flows: &[f64]| flows.iter().sum::<f64>() / flows.len() as f64;
    let used = 100.0 * mean(&taken) / mean(&record);
    let missing =
        if gaps > 0 { format!(" {gaps} gaps in the record are left out.") } else { String::new() };
    let description = format!(
        "Flow against the share of the time that it is reached or exceeded (in {}), from {} down to \
         {}. The shaded part is taken: {used:.0} % of the water, at most {}.{missing}",
        unit.symbol(),
        digits(record[0]),
        digits(record[record.len() - 1]),
        digits(design),
    );
    let mut limits = vec![("most that is taken", kept + design, Stroke::DOTTED)];
    limits.extend(residual.map(|residual| ("stays in the bed", residual, Stroke::DASHED)));
    let names: Vec<Vec<String>> = limits.iter().map(|(name, ..)| broken(name, 11)).collect();
    let beside = room_for_names(names.iter());
    let mut frame = Frame::new(&heading(drawing, &description), (&x, &y), beside, FIELD);
    let places: Vec<f64> = shares.iter().map(|share| frame.x(100.0 * share)).collect();
    let used_part = used_outline(&frame, &places, &taken, kept);
    for part in &used_part {
        frame.svg.area(part, Fill::Grey(0.16));
    }
    let curve: Vec<(f64, f64)> =
        places.iter().zip(&record).map(|(x, flow)| (*x, frame.y(*flow))).collect();
    let mut named = Vec::new();
    for ((_, level, stroke), lines) in limits.into_iter().zip(names) {
        let end = frame.y(level);
        frame.svg.line((frame.left, end), (frame.right, end), stroke);
        named.push(Named { lines, end, stroke: Some(stroke), mark: None });
    }
    name_curves(&mut frame, &named);
    frame.svg.path(&curve, Stroke::SOLID);
    let text = format!("used: {used:.0} % of the water");
    let most = taken.iter().copied().fold(0.0, f64::max);
    let left = places.first().map_or(frame.left, |first| first.max(frame.left)) + 7.0;
    let (middle, high) = (frame.y(kept + 0.5 * most), frame.y(kept) - frame.y(kept + most));
    // Where it is too low for words, they stand above it.
    let height = if high > 16.0 { middle + 4.5 } else { frame.y(kept + most) - 6.0 };
    frame.svg.plated_text(left, height, Anchor::Start, &text);
    let rows = (shares.iter().zip(&record).zip(&taken))
        .map(|((share, flow), taken)| vec![digits(100.0 * share), digits(*flow), digits(*taken)])
        .collect();
    let heads = vec![
        "share of the time (%)".to_owned(),
        with_unit("flow", &unit),
        with_unit("taken", &unit),
    ];
    Ok(Picture { svg: frame.finish(), table: DataTable { heads, rows } })
}

/// The share of the time of each flow of a record in falling order: the library's plotting position.
fn shares(record: &[f64]) -> Result<Vec<f64>, String> {
    let formula = find("duration_shares").ok_or("no formula of plotting positions")?;
    let given = forebay_formulas::Given::Series(record, Dimension::FLOW);
    let name = formula.parameters.first().map(|parameter| parameter.name).unwrap_or_default();
    match formula.call_for_series(&[(name, given)]) {
        Ok((shares, _)) => Ok(shares),
        Err(error) => Err(error.to_string()),
    }
}

/// The shaded parts: from what stays in the bed up to what is taken on top of it.
fn used_outline(frame: &Frame, places: &[f64], taken: &[f64], kept: f64) -> Vec<Vec<(f64, f64)>> {
    let mut parts = Vec::new();
    let mut open: Vec<(f64, f64)> = Vec::new();
    let mut close = |open: &mut Vec<(f64, f64)>| {
        if let (Some(first), Some(last)) = (open.first().copied(), open.last().copied()) {
            let base = frame.y(kept);
            let mut part = vec![(first.0, base)];
            part.append(open);
            part.push((last.0, base));
            parts.push(part);
        }
    };
    for (x, flow) in places.iter().zip(taken) {
        if *flow > 0.0 {
            open.push((*x, frame.y(kept + flow)));
        } else {
            close(&mut open);
        }
    }
    close(&mut open);
    parts
}

#[cfg(test)]
mod tests {
    use forebay_sheet::Sheet;

    #[test]
    fn the_share_of_the_water_that_is_used_is_told() {
        // By hand: of 10, 20, 30 and 40 L/s with 5 in the bed and at most 20 taken: 5, 15, 20, 20,
        // which is 60 of 100. Weibull's positions of four flows are 20, 40, 60 and 80 %.
        let mut sheet = Sheet::open(
            "forebay: 1
known:
  flows: [20 L/s, 40 L/s, 10 L/s, 30 L/s]
draw:
  year: { kind: flow_duration, flows: flows, design_flow: 20 L/s, residual_flow: 5 L/s }
",
        );
        let drawn = crate::drawings(&mut sheet);
        let picture = drawn[0].picture.as_ref().unwrap();
        assert!(picture.svg.contains("used: 60 %"), "{}", picture.svg);
        let first: Vec<&str> = picture.table.rows.iter().map(|row| row[0].as_str()).collect();
        assert_eq!(first, ["20", "40", "60", "80"]);
        let taken: Vec<&str> = picture.table.rows.iter().map(|row| row[2].as_str()).collect();
        assert_eq!(taken, ["20", "20", "15", "5"]);
    }
}
