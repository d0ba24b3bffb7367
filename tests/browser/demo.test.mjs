// The demo site: every page that its coordinator can open is readable, on a phone and at a desk.

import test from 'node:test';
import assert from 'node:assert/strict';
import { openBrowser, openServer, readable } from './house.mjs';

const PAGES = [
  '/', '/turnovers', '/systems', '/systems/2', '/clean-outs', '/clean-outs/1', '/clean-outs/1/dose', '/clean-outs/1/card',
  '/clean-outs/1/release', '/clean-outs/2/release', '/clean-outs/3/run', '/stock', '/stock/lots/1', '/methods', '/methods/1',
  '/methods/1/next', '/crew', '/logbook', '/logbook?check=yes', '/site',
  '/plan', '/plan/week', '/plan/changes', '/site/storage', '/site/storage/change', '/site/sources', '/site/closed', '/site/closed/new', '/site/closed/import', '/kit', '/kit/new', '/water', '/stock/deliveries/new', '/methods/1/kit', '/crew/1', '/crew/3/hours', '/crew/3/away/new', '/plan/6/move', '/crew/week', '/crew/load', '/systems/1/flow-tests',
  '/stock/enough', '/stock/lots/1/mix', '/stock/products/1', '/stock/products/new', '/stock/products/1/ordering', '/site/prices', '/site/rules', '/clean-outs/3/rules', '/gauges', '/sessions', '/crew/2/training', '/first-aid', '/jugs',
  '/systems/1/water', '/benches/1/change', '/reservoirs/1/change', '/tubing/1/change', '/rooms/1/hours',
  '/calculators', '/calculators/top-up', '/calculators/dose?stock=35+%25+w%2Fw&target=3+%25+w%2Fv&volume=180+L&jug=2+L',
];

test('the demo site says how to sign in, and its pages are readable', async (t) => {
  const server = await openServer('demo');
  const browser = await openBrowser();
  t.after(async () => {
    await browser.close();
    await server.close();
  });
  const password = server.greeting.match(/password of each is: (.*)/)[1];
  for (const [width, colorScheme] of [[390, 'dark'], [1280, 'light']]) {
    const context = await browser.newContext({ bypassCSP: true, colorScheme, viewport: { width, height: 844 } });
    const page = await context.newPage();
    page.setDefaultTimeout(10_000);
    await page.goto(`${server.address}/sign-in`);
    await page.fill('#sign_in', 'ines');
    await page.fill('#password', password);
    await page.click('main button');
    for (const path of PAGES) {
      const answer = await page.goto(server.address + path);
      assert.equal(answer.status(), 200, path);
      await readable(page);
    }
    await page.goto(`${server.address}/`);
    assert.match(await page.locator('.lead').innerText(), /one held, one ready, one quarantined/);
    await context.close();
  }
});
