// From an empty register to a coordinator, without JavaScript and with it.

import test from 'node:test';
import assert from 'node:assert/strict';
import { openBrowser, openServer, readable } from './house.mjs';

for (const javaScriptEnabled of [true, false]) {
  test(`a new register gets its coordinator ${javaScriptEnabled ? 'with' : 'without'} JavaScript`, async (t) => {
    const server = await openServer();
    const browser = await openBrowser();
    t.after(async () => {
      await browser.close();
      await server.close();
    });
    const context = await browser.newContext({ bypassCSP: javaScriptEnabled, javaScriptEnabled, viewport: { width: 390, height: 844 } });
    const page = await context.newPage();
    await page.goto(server.address);
    assert.equal(new URL(page.url()).pathname, '/first-run');
    if (javaScriptEnabled) await readable(page);

    await page.fill('#site_name', 'Orrelby Glasshouses');
    await page.fill('#zone', 'Europe/London');
    await page.fill('#name', 'Ines V.');
    await page.fill('#sign_in', 'ines');
    await page.fill('#password', 'too short');
    await page.check('#adult');
    await page.click('main button');
    // What was typed is kept, what is wrong is said at the field, and the title says so.
    assert.match(await page.title(), /^Error:/);
    assert.equal(await page.inputValue('#site_name'), 'Orrelby Glasshouses');
    assert.match(await page.textContent('#password-e'), /at least 15/);
    assert.equal(await page.inputValue('#password'), '');
    if (javaScriptEnabled) await readable(page);

    await page.fill('#password', 'tide pools at noon');
    await page.click('main button');
    assert.notEqual(new URL(page.url()).pathname, '/first-run');
    assert.match(await page.textContent('footer'), /Signed in as Ines V\., coordinator/);
    if (javaScriptEnabled) await readable(page);
  });
}
