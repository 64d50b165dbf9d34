//! The level of a pond over time, between the levels it must keep to.

use forebay_sheet::{Drawing, Sheet};

use super::Picture;
use super::axes::Axis;
use super::data::{Curve, Plot, numbers, with_unit};
use super::lines::{all, paint as paint_curves};

pub(crate) fn paint(drawing: &Drawing, sheet: &mut Sheet) -> Result<Picture, String> {
    let mut plot = Plot::of(drawing, sheet, "time", "level")?;
    let level = drawing.under("level").next();
    let unit = drawing.unit.clone().or_else(|| level?.unit().cloned());
    for key in ["full_level", "least_level"] {
        let limit = drawing.under(key).next();
        if let (Some(value), Some(unit)) = (limit.and_then(|l| l.value()), &unit) {
            let values = numbers(value, unit);
            let label = key.replace('_', " ");
            plot.curves.push(Curve { label, values, level: true });
        }
    }
    let length = plot.places.texts.len();
    for curve in plot.curves.iter_mut().filter(|curve| curve.level) {
        if let Some(value) = curve.values.first().copied() {
            curve.values = vec![value; length];
        }
    }
    if let (None, Some(unit)) = (&drawing.y_label, &unit) {
        plot.y_label = with_unit("level", unit);
    }
    let axis = Axis::rounded(plot.y_label.clone(), all(&plot));
    Ok(paint_curves(drawing, &plot, &axis, true, false))
}
