import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

export const desktop: BrowserContextOptions = { viewport: { width: 1440, height: 900 } };
export const phone: BrowserContextOptions = {
  viewport: { width: 390, height: 844 },
  deviceScaleFactor: 2,
  isMobile: true,
  hasTouch: true,
};

/**
 * Opens a page and gives what went wrong on the way: messages of the console, failed and foreign requests.
 *
 * @param now what the clock of the page says
 */
export async function openPage(
  browser: Browser,
  url: string,
  options: BrowserContextOptions,
  now: Date,
): Promise<{ page: Page; trouble: string[]; close: () => Promise<void> }> {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const trouble: string[] = [];
  const origin = url.startsWith('file:') ? 'file://' : new URL(url).origin;
  page.on('console', (message) => trouble.push(`console: ${message.text()}`));
  page.on('pageerror', (error) => trouble.push(`error: ${error.message}`));
  page.on('requestfailed', (request) => trouble.push(`failed: ${request.url()}`));
  page.on('request', (request) => {
    if (!request.url().startsWith(origin) && !request.url().startsWith('data:'))
      trouble.push(`elsewhere: ${request.url()}`);
  });
  page.on('response', (response) => {
    if (response.status() >= 400) trouble.push(`${response.status()}: ${response.url()}`);
  });
  if (options.javaScriptEnabled !== false) await page.clock.setFixedTime(now);
  await page.goto(url);
  return { page, trouble, close: () => context.close() };
}

/** What axe-core finds against the rules of accessibility. */
export async function violationsOf(page: Page): Promise<string[]> {
  // The policy of the page refuses an injected script tag, as it should; evaluating is the driver's own way in.
  await page.evaluate(axe);
  return page.evaluate(async () => {
    const { run } = (
      globalThis as unknown as {
        axe: { run: () => Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
      }
    ).axe;
    return (await run()).violations.map(
      (v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`,
    );
  });
}
