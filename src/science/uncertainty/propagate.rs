//! The law of propagation, by small steps of the function itself.

use super::{Budget, Contribution, Input};

/// Carries the uncertainty of independent figures through a function: for each figure
/// c u(x) = (f(x + u) − f(x − u)) / 2, the others held (GUM 5.1.3, note 2).
///
/// # Errors
/// What the function refuses at the figures themselves. Where it refuses one of the two neighbours,
/// the step to the other one counts; where it refuses both, the figure brings nothing.
///
/// ```
/// use slackwater::science::uncertainty::{Input, propagate};
/// // 14.75 L ±0.06 of 395.9 g/L ±10 in 194.5 L ±7: 3.00 % w/v, give or take 0.09.
/// let inputs = [
///     Input::within("Poured", "half a mark a pour", 14.75, 0.06),
///     Input::within("Stock", "±2.5 %", 395.9, 10.0),
///     Input::expanded("Volume", "", 194.5, 7.0),
/// ];
/// let strength = propagate(&inputs, |x| Ok::<_, ()>(x[0] * x[1] / x[2] / 10.0)).unwrap();
/// assert!((strength.value - 3.002).abs() < 0.001);
/// assert!((strength.expanded() - 0.1393).abs() < 0.001);
/// ```
pub fn propagate<E>(inputs: &[Input], f: impl Fn(&[f64]) -> Result<f64, E>) -> Result<Budget, E> {
    let budgets = propagate_all(inputs, |x| f(x).map(|value| vec![Some(value)]))?;
    // There is one result, and it was found.
    Ok(budgets
        .into_iter()
        .flatten()
        .next()
        .unwrap_or_else(|| Budget::exact(f64::NAN)))
}

/// The same through a function of several results, so that it is worked out once for all of them:
/// c u(x) = (f(x + u) − f(x − u)) / 2 for each (GUM 5.1.3, note 2). A result that there is not has no
/// budget; one that there is not at a neighbour is taken as refused there.
///
/// # Errors
/// What the function refuses at the figures themselves.
///
/// ```
/// use slackwater::science::uncertainty::{Input, propagate_all};
/// let inputs = [Input::expanded("a", "", 3.0, 2.0), Input::expanded("b", "", 4.0, 4.0)];
/// let found = propagate_all(&inputs, |x| {
///     Ok::<_, ()>(vec![Some(x[0] + x[1]), Some(x[0] * x[1]), None])
/// })
/// .unwrap();
/// assert!((found[0].as_ref().unwrap().combined() - 5f64.sqrt()).abs() < 1e-12);
/// // √((4 × 1)² + (3 × 2)²)
/// assert!((found[1].as_ref().unwrap().combined() - 52f64.sqrt()).abs() < 1e-12);
/// assert!(found[2].is_none());
/// ```
pub fn propagate_all<E>(
    inputs: &[Input],
    f: impl Fn(&[f64]) -> Result<Vec<Option<f64>>, E>,
) -> Result<Vec<Option<Budget>>, E> {
    let mut at: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let values = f(&at)?;
    let mut budgets: Vec<Option<Budget>> = values
        .iter()
        .map(|value| value.map(Budget::exact))
        .collect();
    for (place, input) in inputs.iter().enumerate() {
        let u = input.standard();
        if u <= 0.0 {
            continue;
        }
        let mut moved = |to: f64| {
            if let Some(x) = at.get_mut(place) {
                *x = to;
            }
            f(&at).unwrap_or_default()
        };
        let (ups, downs) = (moved(input.value + u), moved(input.value - u));
        if let Some(x) = at.get_mut(place) {
            *x = input.value;
        }
        for (result, budget) in budgets.iter_mut().enumerate() {
            let Some(budget) = budget else { continue };
            let of = |found: &[Option<f64>]| found.get(result).copied().flatten();
            let effect = match (of(&ups), of(&downs)) {
                (Some(up), Some(down)) => (up - down) / 2.0,
                (Some(up), None) => up - budget.value,
                (None, Some(down)) => budget.value - down,
                (None, None) => continue,
            };
            budget.contributions.push(Contribution {
                what: input.what,
                how: input.how.clone(),
                effect,
            });
        }
    }
    Ok(budgets)
}
