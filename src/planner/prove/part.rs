//! Parts of a problem: some of its jobs with the farm to themselves, or with what the others leave them.

use super::super::difference::phases;
use super::super::plan::{PlacedJob, Plan};
use super::super::problem::{Delivery, Draw, Problem, Shift, Slot, Span, Stock, Worked};

/// The most jobs that a proof is tried for at once.
pub(super) const MOST_JOBS: usize = 25;

/// The problem of some of the jobs, in this order, without what the placed ones take.
///
/// With nothing placed it asks for less than the whole problem, so no plan of the whole can cost less for
/// these jobs than the best plan of the part.
pub(in super::super) fn part(problem: &Problem, jobs: &[usize], placed: &[&PlacedJob]) -> Problem {
    let mut part = problem.clone();
    part.jobs = jobs.iter().map(|&job| problem.jobs[job].clone()).collect();
    for place in placed {
        let job = &problem.jobs[place.job];
        for phase in phases(problem, place) {
            let out = span(phase.start, phase.hands_on);
            if problem.crew_out {
                part.rooms[job.room].occupied.push(out);
            }
            part.taken.work.push(Worked {
                span: out,
                last_in_day: job.last_in_day,
            });
            for &person in phase.people {
                cut(&mut part.people[person].shifts, out);
            }
        }
        let closed = job.dose.duration + job.dose.airing;
        let closed = span(place.dose, closed);
        part.rooms[job.room].occupied.push(closed);
        if problem.crew_out {
            part.rooms[job.room].closed.push(closed);
        }
        part.taken.kits.push(Span {
            to: (place.dose + job.kit_held()).min(problem.horizon),
            ..span(place.dose, 0)
        });
        let mut draw = |slot: Slot, litres: i64| part.taken.draws.push(Draw { slot, litres });
        draw(place.dose, job.dose.water_l);
        let mut at = place.rinse;
        for rinse in &job.rinses {
            draw(at, rinse.water_l);
            at += rinse.duration;
        }
        for rinse in &job.teardown_draws {
            draw(place.teardown + rinse.slot, rinse.litres);
        }
        draw(place.inspect, job.fill_l);
    }
    for (product, stock) in part.stocks.iter_mut().enumerate() {
        let doses = placed.iter().filter_map(|place| {
            let dose = &problem.jobs[place.job].dose;
            (dose.product == product).then_some((place.dose, dose.peroxide_ml))
        });
        *stock = left(stock, &doses.collect::<Vec<_>>());
    }
    part
}

fn span(from: Slot, length: Slot) -> Span {
    Span {
        from,
        to: from + length,
    }
}

/// Takes a span out of somebody's shifts.
fn cut(shifts: &mut Vec<Shift>, out: Span) {
    let pieces = shifts.iter().flat_map(|shift| {
        let piece = |from: Slot, to: Slot| Shift {
            span: Span { from, to },
            ..*shift
        };
        let Span { from, to } = shift.span;
        if out.to <= from || to <= out.from {
            [*shift, piece(0, 0)]
        } else {
            [piece(from, out.from.max(from)), piece(out.to.min(to), to)]
        }
    });
    *shifts = pieces
        .filter(|piece| piece.span.from < piece.span.to)
        .collect();
}

/// What is left of a product for others once these doses have theirs: before each delivery as much as is
/// left then and at all later times.
fn left(stock: &Stock, doses: &[(Slot, i64)]) -> Stock {
    let mut times: Vec<Slot> = stock.deliveries.iter().map(|one| one.slot).collect();
    times.sort_unstable();
    times.dedup();
    let before = |time: Slot| {
        let come = stock.deliveries.iter().filter(|one| one.slot < time);
        let gone = doses.iter().filter(|dose| dose.0 < time);
        stock.initial_ml + come.map(|one| one.ml).sum::<i64>()
            - gone.map(|dose| dose.1).sum::<i64>()
    };
    let mut levels: Vec<i64> = times.iter().map(|&time| before(time)).collect();
    levels.push(before(Slot::MAX));
    for index in (0..levels.len() - 1).rev() {
        levels[index] = levels[index].min(levels[index + 1]);
    }
    let rises = times.iter().zip(levels.windows(2));
    Stock {
        initial_ml: levels[0].max(0),
        deliveries: rises
            .map(|(&slot, two)| Delivery {
                slot,
                ml: two[1].max(0) - two[0].max(0),
            })
            .filter(|one| one.ml > 0)
            .collect(),
    }
}

/// The plan of a part, from the plan of the whole.
pub(in super::super) fn plan_of(plan: &Plan, jobs: &[usize]) -> Plan {
    let mut own = Plan::default();
    for (index, &job) in jobs.iter().enumerate() {
        match plan.jobs.iter().find(|placed| placed.job == job) {
            Some(placed) => own.jobs.push(PlacedJob {
                job: index,
                ..placed.clone()
            }),
            None => own.unplaced.push(index),
        }
    }
    own
}

/// The plan of the whole with the places of a part.
pub(in super::super) fn with(plan: &Plan, jobs: &[usize], own: &Plan) -> Plan {
    let mut whole = plan.clone();
    whole.jobs.retain(|placed| !jobs.contains(&placed.job));
    whole.unplaced.retain(|job| !jobs.contains(job));
    whole.jobs.extend(own.jobs.iter().map(|placed| PlacedJob {
        job: jobs[placed.job],
        ..placed.clone()
    }));
    whole
        .unplaced
        .extend(own.unplaced.iter().map(|&job| jobs[job]));
    whole.jobs.sort_by_key(|placed| placed.job);
    whole.unplaced.sort_unstable();
    whole
}

/// Jobs that are linked: their windows overlap, one into the next, and they share the crew and all else.
/// A window is from the turnover to the planting or the planned end, whichever is later. More than can be
/// proved at once are cut apart in the order of their windows, where the step to the next is widest.
pub(in super::super) fn clusters(problem: &Problem, plan: &Plan) -> Vec<Vec<usize>> {
    let mut windows: Vec<(Slot, Slot, usize)> = (0..problem.jobs.len())
        .map(|index| {
            let job = &problem.jobs[index];
            let placed = plan.jobs.iter().find(|placed| placed.job == index);
            let end = placed.map_or(job.hard_due, |placed| placed.end(job).max(job.due));
            (job.release, end, index)
        })
        .collect();
    windows.sort_unstable();
    let mut found: Vec<Vec<(Slot, Slot, usize)>> = Vec::new();
    let mut until = 0;
    for window in windows {
        match found.last_mut() {
            Some(last) if window.0 < until => last.push(window),
            _ => found.push(vec![window]),
        }
        until = until.max(window.1);
    }
    let mut pieces = Vec::new();
    while let Some(mut cluster) = found.pop() {
        if cluster.len() > MOST_JOBS {
            // Somewhere in the middle half, so that neither piece is a crumb.
            let middle = cluster.len() / 4..=cluster.len() * 3 / 4;
            let step = |at: &usize| cluster[*at].0 - cluster[*at - 1].0;
            let at = middle.max_by_key(step).unwrap_or(cluster.len() / 2);
            found.push(cluster.split_off(at));
            found.push(cluster);
        } else {
            pieces.push(cluster.into_iter().map(|window| window.2).collect());
        }
    }
    pieces
}
