//! Every start that a phase of one job could have on the empty farm, with the least that a whole job through
//! that start costs.
//!
//! Two dynamic programmes, forwards and backwards over the chain of phases, give for each start the least cost
//! of what comes before it and of what follows. A start through which even the job alone costs more than it
//! may is left out of a proof: that makes the proof small, and takes away no plan that could be better.

use super::super::farm::{Farm, Task, tasks, team, torn_down};
use super::super::problem::{Job, Slot};

/// One start of a phase.
#[derive(Clone, Copy, Debug)]
pub(super) struct Start {
    pub at: Slot,
    /// Slots of overtime that the phase needs here at least, summed over its people.
    pub overtime: i64,
    /// The least that the job costs with this start.
    pub through: i64,
}

/// All starts of a job's five phases.
#[derive(Clone, Debug)]
pub(super) struct Chains {
    pub stages: [Vec<Start>; 5],
    /// The least that the job costs alone. Its draws of water are taken one by one, so this is never too
    /// high.
    pub cost: i64,
}

/// The starts of a job on the empty farm; none if it has no place even there.
///
/// Time is linear in the slots of its window, times the people.
pub(super) fn chains(farm: &Farm<'_>, index: usize) -> Option<Chains> {
    let job = &farm.problem.jobs[index];
    let stages = own(farm, job)?;
    let prices = farm.problem.prices;
    let costs: Vec<Vec<i64>> = stages
        .iter()
        .enumerate()
        .map(|(stage, starts)| {
            let late = |at: Slot| {
                if stage < 4 {
                    return 0;
                }
                i64::from((at + job.inspect.duration).saturating_sub(job.due))
            };
            starts
                .iter()
                .map(|start| {
                    prices.overtime * start.overtime + prices.late * job.weight * late(start.at)
                })
                .collect()
        })
        .collect();
    let waits = waits(job);
    // The least cost of all that comes before a start, and of all that follows it.
    let mut before: Vec<Vec<Option<i64>>> = vec![vec![Some(0); stages[0].len()]];
    for stage in 1..5 {
        let (least, most) = waits[stage - 1];
        let sums = added(&costs[stage - 1], &before[stage - 1]);
        let reached = window(&stages[stage - 1], &sums, &stages[stage], |at| {
            (at.saturating_sub(most), at.checked_sub(least))
        });
        before.push(reached);
    }
    let mut after: Vec<Vec<Option<i64>>> = vec![vec![Some(0); stages[4].len()]];
    for stage in (0..4).rev() {
        let (least, most) = waits[stage];
        let sums = added(&costs[stage + 1], &after[after.len() - 1]);
        let reached = window(&stages[stage + 1], &sums, &stages[stage], |at| {
            (at + least, Some(at + most))
        });
        after.push(reached);
    }
    after.reverse();
    let mut found = Chains {
        stages: Default::default(),
        cost: i64::MAX,
    };
    for (stage, starts) in stages.into_iter().enumerate() {
        for (place, mut start) in starts.into_iter().enumerate() {
            if let (Some(before), Some(after)) = (before[stage][place], after[stage][place]) {
                start.through = before + costs[stage][place] + after;
                found.stages[stage].push(start);
                found.cost = found.cost.min(start.through);
            }
        }
    }
    (found.cost < i64::MAX).then_some(found)
}

/// From the start of each phase to the start of the next: the least and the most slots.
pub(super) fn waits(job: &Job) -> [(Slot, Slot); 4] {
    let span = |least: Slot, lag: Slot| (least, least + lag);
    [
        span(job.strip.duration, job.waits.strip_dose),
        span(job.dose.duration + job.soak.least, job.soak.lag),
        span(job.rinsing(), job.waits.rinse_teardown),
        span(job.teardown.duration, job.waits.teardown_inspect),
    ]
}

/// What each phase could do by itself.
fn own(farm: &Farm<'_>, job: &Job) -> Option<[Vec<Start>; 5]> {
    let mut costs = Vec::new();
    let mut overtime = |task: Task| {
        if !farm.may_work(job, task.from, task.to) {
            return None;
        }
        team(&farm.people, task, &mut costs, |hours| {
            hours.overtime(task.from, task.to)
        })
    };
    let stock = farm.stock_from(job)?;
    let mut stages: [Vec<Start>; 5] = Default::default();
    let rinses = job.rinses.len();
    for at in job.release..job.hard_due {
        let each: Vec<Task> = tasks(job, [at; 5]).collect();
        let mut put = |stage: usize, overtime: Option<i64>| {
            if let Some(overtime) = overtime {
                let through = 0;
                stages[stage].push(Start {
                    at,
                    overtime,
                    through,
                });
            }
        };
        put(0, overtime(each[0]));
        let closed = job.dose.duration + job.dose.airing;
        if at >= stock
            && farm.rooms.open[job.room].all(at, at + closed)
            && farm.kit_left.all(at, at + job.kit_held())
            && farm.tank.room(at) >= job.dose.water_l
        {
            put(1, overtime(each[1]));
        }
        let wet = each[2..2 + rinses]
            .iter()
            .zip(&job.rinses)
            .all(|(task, rinse)| {
                task.from < farm.problem.horizon && farm.tank.room(task.from) >= rinse.water_l
            });
        if wet {
            put(
                2,
                each[2..2 + rinses].iter().map(|task| overtime(*task)).sum(),
            );
        }
        let drawn: Vec<(Slot, i64)> = torn_down(job, at).collect();
        if drawn.iter().all(|draw| draw.0 < farm.problem.horizon) && farm.tank.fits(&drawn) {
            put(3, overtime(each[2 + rinses]));
        }
        if at + job.inspect.duration <= job.hard_due && farm.tank.room(at) >= job.fill_l {
            put(4, overtime(each[3 + rinses]));
        }
    }
    Some(stages)
}

fn added(costs: &[i64], rest: &[Option<i64>]) -> Vec<Option<i64>> {
    let both = costs.iter().zip(rest);
    both.map(|(cost, rest)| rest.map(|rest| cost + rest))
        .collect()
}

/// For each start of a phase the least cost of the other phase's starts within its window. The windows move
/// on with the starts, so a queue of ever greater costs gives each least at once.
fn window(
    other: &[Start],
    costs: &[Option<i64>],
    own: &[Start],
    reach: impl Fn(Slot) -> (Slot, Option<Slot>),
) -> Vec<Option<i64>> {
    let mut queue: std::collections::VecDeque<(Slot, i64)> = std::collections::VecDeque::new();
    let mut next = 0;
    own.iter()
        .map(|start| {
            let (first, last) = reach(start.at);
            let last = last?;
            while next < other.len() && other[next].at <= last {
                if let Some(cost) = costs[next] {
                    while queue.back().is_some_and(|back| back.1 >= cost) {
                        queue.pop_back();
                    }
                    queue.push_back((other[next].at, cost));
                }
                next += 1;
            }
            while queue.front().is_some_and(|front| front.0 < first) {
                queue.pop_front();
            }
            queue.front().map(|front| front.1)
        })
        .collect()
}
