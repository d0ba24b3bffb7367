//! Checks a plan slot by slot. It shares no code with what makes plans: it counts everything again,
//! from the problem and the plan alone, in the plainest way there is.

mod between;

use std::collections::HashMap;

use super::plan::{PlacedJob, Plan};
use super::problem::{Job, Person, Problem, Slot};

/// A rule that a plan breaks, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken(pub String);

impl std::fmt::Display for Broken {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// What a plan that holds costs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Reckoned {
    /// `prices.late * weight * slots late`, summed, and `prices.overtime * overtime`; jobs without a
    /// place cost nothing here.
    pub cost: i64,
    pub jobs_late: usize,
    /// Slots late, summed over the jobs without their weights.
    pub slots_late: i64,
    /// Slots worked in overtime, summed over the people.
    pub overtime: i64,
    pub unplaced: usize,
}

/// A task somebody does by hand.
#[derive(Clone, Copy)]
struct Task<'a> {
    name: &'static str,
    from: Slot,
    to: Slot,
    needed: usize,
    people: &'a [usize],
    /// One of them may handle the concentrate.
    concentrate: bool,
}

/// Checks every rule of the problem and reckons the cost.
///
/// Time and memory grow with the horizon times the crew, rooms and jobs' lengths.
///
/// # Errors
/// Every rule that is broken, each with the job, person or room and the slot.
pub fn verify(problem: &Problem, plan: &Plan) -> Result<Reckoned, Vec<Broken>> {
    let mut broken = Vec::new();
    let mut say = |words: String| broken.push(Broken(words));

    let mut seen = vec![0; problem.jobs.len()];
    for index in plan
        .jobs
        .iter()
        .map(|placed| placed.job)
        .chain(plan.unplaced.iter().copied())
    {
        match seen.get_mut(index) {
            Some(count) => *count += 1,
            None => say(format!("job {index} does not exist")),
        }
    }
    for (job, count) in problem.jobs.iter().zip(&seen) {
        if *count != 1 {
            say(format!(
                "{}: must be in the plan once, and is there {count} times",
                job.id
            ));
        }
    }
    let placed: Vec<(&Job, &PlacedJob)> = plan
        .jobs
        .iter()
        .filter_map(|placed| Some((problem.jobs.get(placed.job)?, placed)))
        .collect();

    // One job by itself; only those whose times hold are counted against the rest.
    let mut sound = Vec::new();
    for (job, placed) in placed {
        let words = times(job, placed, problem.horizon);
        if words.is_empty() {
            sound.push((job, placed));
        }
        for words in words {
            say(format!("{}: {words}", job.id));
        }
    }
    let mut reckoned = Reckoned {
        unplaced: plan.unplaced.len(),
        ..Reckoned::default()
    };
    let overtime = people(problem, &sound, &mut say);
    rooms(problem, &sound, &mut say);
    kits(problem, &sound, &mut say);
    water(problem, &sound, &mut say);
    concentrate(problem, &sound, &mut say);
    between::last_in_day(problem, &sound, &mut say);
    between::crew_out(problem, &sound, &mut say);
    for (job, placed) in &sound {
        let end = placed.inspect + job.inspect.duration;
        let late = i64::from(end.saturating_sub(job.due));
        reckoned.jobs_late += usize::from(late > 0);
        reckoned.slots_late += late;
        reckoned.cost += problem.prices.late * job.weight * late;
    }
    reckoned.overtime = overtime;
    reckoned.cost += problem.prices.overtime * overtime;
    if broken.is_empty() {
        Ok(reckoned)
    } else {
        Err(broken)
    }
}

fn times(job: &Job, placed: &PlacedJob, horizon: Slot) -> Vec<String> {
    let mut words = Vec::new();
    if [
        placed.strip,
        placed.dose,
        placed.rinse,
        placed.teardown,
        placed.inspect,
    ]
    .iter()
    .any(|&start| start >= horizon)
    {
        return vec!["a phase starts after the horizon".to_owned()];
    }
    if placed.strip < job.release {
        words.push(format!(
            "strip starts at {} before its release at {}",
            placed.strip, job.release
        ));
    }
    let mut follows = |name: &str, ends: Slot, starts: Slot, least: Slot, most: Slot| {
        if starts < ends + least || starts > ends + most {
            words.push(format!(
                "{name} starts at {starts}, and must between {} and {}",
                ends + least,
                ends + most
            ));
        }
    };
    let rinsing: Slot = job.rinses.iter().map(|rinse| rinse.duration).sum();
    follows(
        "dose",
        placed.strip + job.strip.duration,
        placed.dose,
        0,
        job.waits.strip_dose,
    );
    let (least, most) = (job.soak.least, job.soak.least + job.soak.lag);
    follows(
        "the first rinse",
        placed.dose + job.dose.duration,
        placed.rinse,
        least,
        most,
    );
    follows(
        "teardown",
        placed.rinse + rinsing,
        placed.teardown,
        0,
        job.waits.rinse_teardown,
    );
    let most = job.waits.teardown_inspect;
    follows(
        "inspect",
        placed.teardown + job.teardown.duration,
        placed.inspect,
        0,
        most,
    );
    if placed.inspect + job.inspect.duration > job.hard_due {
        words.push(format!(
            "ends after {}, the last slot allowed",
            job.hard_due
        ));
    }
    if placed.people.rinses.len() != job.rinses.len() {
        words.push("every rinse needs its own people".to_owned());
    }
    words
}

fn tasks<'a>(job: &Job, placed: &'a PlacedJob) -> Vec<Task<'a>> {
    let people = &placed.people;
    let task = |name, from, length, needed, people: &'a Vec<usize>, concentrate| Task {
        name,
        from,
        to: from + length,
        needed,
        people,
        concentrate,
    };
    let mut tasks = vec![
        task(
            "strip",
            placed.strip,
            job.strip.duration,
            job.strip.people,
            &people.strip,
            false,
        ),
        task(
            "dose",
            placed.dose,
            job.dose.duration,
            job.dose.people,
            &people.dose,
            true,
        ),
        task(
            "teardown",
            placed.teardown,
            job.teardown.duration,
            job.teardown.people,
            &people.teardown,
            false,
        ),
        task(
            "inspect",
            placed.inspect,
            job.inspect.duration,
            job.inspect.people,
            &people.inspect,
            false,
        ),
    ];
    let mut start = placed.rinse;
    for (rinse, people) in job.rinses.iter().zip(&people.rinses) {
        tasks.push(task("rinse", start, rinse.hands_on, 1, people, false));
        start += rinse.duration;
    }
    tasks
}

/// For each slot, which stretch of work it belongs to, and whether it is overtime. A regular shift and
/// the overtime that follows it at once are one stretch.
fn hours(person: &Person, horizon: Slot) -> (Vec<Option<usize>>, Vec<bool>) {
    let mut stretch = vec![None; horizon as usize];
    let mut overtime = vec![false; horizon as usize];
    let mut shifts = person.shifts.clone();
    shifts.sort_by_key(|shift| shift.span.from);
    let mut number = 0;
    for (index, shift) in shifts.iter().enumerate() {
        let goes_on = index > 0 && {
            let before = shifts[index - 1];
            shift.overtime && !before.overtime && before.span.to == shift.span.from
        };
        if !goes_on {
            number += 1;
        }
        for slot in shift.span.from..shift.span.to {
            stretch[slot as usize] = Some(number);
            overtime[slot as usize] = shift.overtime;
        }
    }
    (stretch, overtime)
}

fn people(problem: &Problem, sound: &[(&Job, &PlacedJob)], say: &mut impl FnMut(String)) -> i64 {
    let mut work: HashMap<usize, Vec<(&Job, Task)>> = HashMap::new();
    for (job, placed) in sound {
        for task in tasks(job, placed) {
            if task.people.len() != task.needed {
                let (name, needed) = (task.name, task.needed);
                say(format!(
                    "{}: {name} needs {needed} people and has {}",
                    job.id,
                    task.people.len()
                ));
            }
            let mut named = task.people.to_vec();
            named.sort_unstable();
            named.dedup();
            if named.len() != task.people.len() {
                say(format!("{}: {} names one person twice", job.id, task.name));
            }
            let may = |person: &usize| {
                problem
                    .people
                    .get(*person)
                    .is_some_and(|one| one.concentrate)
            };
            if task.concentrate && !named.iter().any(may) {
                let (name, from) = (task.name, task.from);
                say(format!(
                    "{}: {name} at {from} by people who may not handle concentrate",
                    job.id
                ));
            }
            for person in named {
                work.entry(person).or_default().push((job, task));
            }
        }
    }
    let mut overtime = 0;
    let mut everybody: Vec<_> = work.into_iter().collect();
    everybody.sort_by_key(|(person, _)| *person);
    for (index, work) in everybody {
        let Some(person) = problem.people.get(index) else {
            say(format!("person {index} does not exist"));
            continue;
        };
        let (stretch, costs) = hours(person, problem.horizon);
        let mut busy: Vec<Option<&str>> = vec![None; problem.horizon as usize];
        for (job, task) in work {
            let what = || {
                format!(
                    "{}: {} at {} by {}",
                    job.id, task.name, task.from, person.id
                )
            };
            let at = |slot: Slot| stretch.get(slot as usize).copied().flatten();
            let first = at(task.from);
            if first.is_none() || (task.from..task.to).any(|slot| at(slot) != first) {
                say(format!("{} is not within one shift", what()));
                continue;
            }
            for slot in task.from..task.to {
                if let Some(other) = busy[slot as usize] {
                    say(format!("{}, who is at {other} in slot {slot}", what()));
                }
                busy[slot as usize] = Some(&job.id);
                overtime += i64::from(costs[slot as usize]);
            }
        }
    }
    overtime
}

fn rooms(problem: &Problem, sound: &[(&Job, &PlacedJob)], say: &mut impl FnMut(String)) {
    for (index, room) in problem.rooms.iter().enumerate() {
        let mut closed: Vec<Option<&str>> = vec![None; problem.horizon as usize];
        for span in room.occupied.iter().chain(&room.closed) {
            for slot in span.from..span.to {
                closed[slot as usize] = Some("others");
            }
        }
        for (job, placed) in sound.iter().filter(|(job, _)| job.room == index) {
            let until = placed.dose + job.dose.duration + job.dose.airing;
            for slot in placed.dose..until {
                match closed.get_mut(slot as usize) {
                    None => {
                        say(format!(
                            "{}: the airing of {} goes past the horizon",
                            job.id, room.id
                        ));
                        break;
                    }
                    Some(Some(by)) => {
                        say(format!(
                            "{}: {} is in use by {by} in slot {slot}",
                            job.id, room.id
                        ));
                        break;
                    }
                    Some(free) => *free = Some(&job.id),
                }
            }
        }
    }
}

fn kits(problem: &Problem, sound: &[(&Job, &PlacedJob)], say: &mut impl FnMut(String)) {
    let mut spans: Vec<(Slot, Slot)> = Vec::new();
    spans.extend(problem.taken.kits.iter().map(|span| (span.from, span.to)));
    for (job, placed) in sound {
        let rinsing: Slot = job.rinses.iter().map(|rinse| rinse.duration).sum();
        let until = placed.dose + job.dose.duration + job.soak.least + job.soak.lag + rinsing;
        spans.push((placed.dose, until));
    }
    let last = spans.iter().map(|(_, until)| *until).max().unwrap_or(0);
    let mut held = vec![0_usize; last as usize];
    for (from, until) in spans {
        for slot in from..until {
            held[slot as usize] += 1;
        }
    }
    let most = held
        .iter()
        .enumerate()
        .find(|(_, count)| **count > problem.kits);
    if let Some((slot, count)) = most {
        say(format!(
            "{count} kit units are held in slot {slot}, and there are {}",
            problem.kits
        ));
    }
}

fn water(problem: &Problem, sound: &[(&Job, &PlacedJob)], say: &mut impl FnMut(String)) {
    let mut draws = vec![0; problem.horizon as usize];
    for taken in &problem.taken.draws {
        draws[taken.slot as usize] += taken.litres;
    }
    for (job, placed) in sound {
        draws[placed.dose as usize] += job.dose.water_l;
        draws[placed.inspect as usize] += job.fill_l;
        let mut slot = placed.rinse;
        for rinse in &job.rinses {
            draws[slot as usize] += rinse.water_l;
            slot += rinse.duration;
        }
        for draw in &job.teardown_draws {
            draws[(placed.teardown + draw.slot) as usize] += draw.litres;
        }
    }
    let mut debt = problem.water.tank_l - problem.water.initial_l;
    for (slot, draw) in draws.iter().enumerate() {
        debt = (debt - problem.water.rate_l_per_slot).max(0) + draw;
        if debt > problem.water.tank_l {
            say(format!(
                "the tank lacks {} L in slot {slot}",
                debt - problem.water.tank_l
            ));
            return;
        }
    }
}

fn concentrate(problem: &Problem, sound: &[(&Job, &PlacedJob)], say: &mut impl FnMut(String)) {
    for (product, stock) in problem.stocks.iter().enumerate() {
        let arrivals = stock
            .deliveries
            .iter()
            .map(|delivery| (delivery.slot, delivery.ml));
        let doses = sound
            .iter()
            .filter(|(job, _)| job.dose.product == product)
            .map(|(job, placed)| (placed.dose, -job.dose.peroxide_ml));
        let mut changes: Vec<(Slot, i64)> = arrivals.chain(doses).collect();
        // A delivery comes before what is dosed in its slot, so sorting puts the greater change first.
        changes.sort_by_key(|&(slot, change)| (slot, std::cmp::Reverse(change)));
        let mut left = stock.initial_ml;
        for (slot, change) in changes {
            left += change;
            if left < 0 {
                say(format!("the concentrate lacks {} mL in slot {slot}", -left));
                break;
            }
        }
    }
}
