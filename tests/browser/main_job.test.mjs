// The main job: from an empty register, through the set-up, to a dose sheet, a printed card, a run
// and a system that is released for planting.

import test from 'node:test';
import assert from 'node:assert/strict';
import path from 'node:path';
import { execFileSync } from 'node:child_process';
import { openBrowser, openServer, readable } from './house.mjs';

// A no-break space reads as a space.
const plain = (text) => text.replace(/[\u00a0\u202f]/g, ' ');
const day = (inDays) => new Date(Date.now() + inDays * 86_400_000).toISOString().slice(0, 10);
// Today, or the Monday after: nobody is booked on a day on which the site does not work.
const workday = [0, 1, 2].map(day).find((text) => ![0, 6].includes(new Date(text).getUTCDay()));

// Fills the fields that are named, by their ids, and presses the page's one black button.
async function save(page, fields) {
  for (const [id, value] of Object.entries(fields)) {
    const field = page.locator(`#${id}`);
    const tag = await field.evaluate((element) => `${element.tagName} ${element.type ?? ''}`);
    if (tag.startsWith('SELECT')) await field.selectOption(value);
    else await field.fill(value);
  }
  await page.locator('main form button.btn:not(.plain)').last().click();
  const errors = page.locator('.errors');
  assert.equal(await errors.count(), 0, `${page.url()}: ${(await errors.count()) && (await errors.innerText())}`);
}

// A choice is a list or a row of buttons; it is told by its name and value.
async function choose(page, name, value) {
  const radio = page.locator(`input[name="${name}"][value="${value}"]`);
  if (await radio.count()) await radio.check();
  else await page.locator(`select[name="${name}"]`).selectOption(value);
}

test('one system goes from an empty register to its release', async (t) => {
  const server = await openServer();
  const browser = await openBrowser();
  t.after(async () => {
    await browser.close();
    await server.close();
  });
  const context = await browser.newContext({ bypassCSP: true, viewport: { width: 390, height: 844 } });
  const page = await context.newPage();
  page.setDefaultTimeout(10_000);
  const step = async () => page.goto(`${server.address}/set-up/next`);

  await page.goto(server.address);
  await page.check('#adult');
  await page.check('#skill');
  await save(page, { site_name: 'Orrelby Glasshouses', zone: 'Europe/London', name: 'Ines V.', sign_in: 'ines', password: 'tide pools at noon' });

  // The set-up asks for one thing after the other and says what to measure.
  await page.goto(`${server.address}/set-up`);
  await readable(page);
  await step();
  await save(page, { name: 'North bay' });
  await step();
  await save(page, { name: 'North 2' });
  await step();
  await choose(page, 'heel_known', 'measured');
  await save(page, { capacity: '240', length: '800', width: '600', height: '500', heel: '18', pump_need: '62' });
  await step();
  await readable(page);
  await choose(page, 'media', 'clay');
  await choose(page, 'media_lie', 'level');
  await save(page, { name: 'Bench 1', length: '1.6', width: '0.6', wall: '200', overflow: '90', floor_fall: '0', media_depth: '110' });
  await step();
  await choose(page, 'kind', 'submersible');
  await save(page, { name: 'Pump' });
  await step();
  await choose(page, 'purpose', 'fill');
  await save(page, { name: 'Fill', bore: '25', length: '4.7' });
  await step();
  await choose(page, 'basis', '% w/w');
  await save(page, { name: 'Peroxide 35', strength: '35', label_reference: 'label of 2026' });
  await step();
  await save(page, { code: 'P-118', amount: '25', received_on: day(-1) });
  await step();
  await save(page, { name: '2 L jug', capacity: '2', mark: '0.05' });
  await step();
  await page.check('input[name=stands]');
  await save(page, { crop: 'Pak choi', planted_on: day(-30), turnover_on: day(-1), next_on: day(9), next_crop: 'Pak choi' });
  await page.goto(`${server.address}/set-up`);
  await page.locator('main form button.btn').first().click();
  assert.match(page.url(), /\/clean-outs\/1/);
  await page.goto(`${server.address}/clean-outs/1/dose`);
  assert.match(plain(await page.locator('.verdict').innerText()), /L of 35 % w\/w stock/);
  await readable(page);

  // The crop comes off; a second adult is there for the pours.
  await page.goto(`${server.address}/turnovers/1/off`);
  await save(page, { off_on: day(-1) });
  await page.goto(`${server.address}/crew/new`);
  await choose(page, 'age_band', 'adult');
  await choose(page, 'role', 'lead');
  await save(page, { name: 'Oda R.' });

  // Booked, worked out, issued: from then on the card is frozen.
  await page.goto(`${server.address}/clean-outs/1/booking`);
  await save(page, { starts_on: workday, starts_at: '08:30', person: '1' });
  await page.goto(`${server.address}/clean-outs/1/choices`);
  await save(page, { lot: '1', jug: '1', target_source: 'label', target_reference: 'label of 2026', water_on_hand: '200' });
  await page.goto(`${server.address}/clean-outs/1`);
  await readable(page);
  await page.locator('form[action$="/issue"] button').click();
  assert.match(await page.locator('main').innerText(), /issued/i);

  // The card prints on one sheet of A4 and on one of Letter, and its code and doses stand on it.
  await page.goto(`${server.address}/clean-outs/1/card`);
  for (const format of ['A4', 'Letter']) {
    const file = path.join(server.folder, `card-${format}.pdf`);
    await page.pdf({ path: file, format });
    assert.match(execFileSync('pdfinfo', [file], { encoding: 'utf8' }), /Pages:\s+1\n/, format);
    const text = plain(execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' }));
    for (const words of ['North 2', 'P-118', 'Ines V.', 'local rules win', 'Fill', 'about 95 in 100', 'Rinses:', 'Re-entry:']) assert.ok(text.includes(words), `${words} on ${format}:\n${text}`);
  }

  // The run, step by step, on a phone.
  const seen = new Set();
  for (let turn = 0; turn < 120; turn += 1) {
    await page.goto(`${server.address}/clean-outs/1/run`);
    const button = page.locator('main button.act').first();
    if (await page.getByText('To the release').count()) break;
    const words = await button.innerText();
    const kind = words.replace(/[\d. ]+.*/, '').trim();
    if (!seen.has(kind)) await readable(page);
    seen.add(kind);
    for (const box of await page.locator('main form:has(button.act) input[type=checkbox]').all()) await box.check();
    if (await page.locator('main #second').count()) await page.selectOption('#second', { label: 'Oda R.' }).catch(() => page.locator('#second').selectOption({ index: 1 }));
    if (await page.locator('main form:has(button.act) #value').count()) {
      const asked = await page.locator('h1').innerText();
      const value = /peroxide|strip/i.test(asked) ? '1' : /pH/.test(asked) ? '6.4' : /EC/.test(asked) ? '0.2' : /litre|water|fill/i.test(asked) ? '100' : /temp/i.test(asked) ? '19' : '395';
      await page.fill('#value', value);
      if (await page.locator('#tool').count()) await page.fill('#tool', 'S-40');
      if (await page.locator('#tool_expires_on').count()) await page.fill('#tool_expires_on', day(400));
    }
    const timed = /begun|begin|starts|started/i.test(words);
    await button.click();
    const errors = page.locator('.errors');
    assert.equal(await errors.count(), 0, `${page.url()} ${words}: ${(await errors.count()) && (await errors.innerText())}`);
    await server.later(timed ? 185 : 1);
  }
  assert.ok(seen.size >= 4, `kinds of steps seen: ${[...seen].join(', ')}`);

  // Released on its readings; the system may be planted.
  await page.goto(`${server.address}/clean-outs/1/release`);
  await readable(page);
  await page.locator('main button[value=release]').click();
  await page.goto(`${server.address}/clean-outs/1/release`);
  assert.match(await page.locator('main').innerText(), /ready for planting/);
  await page.goto(`${server.address}/`);
  assert.match(await page.locator('.lead').innerText(), /ready/);
  await readable(page);
});
