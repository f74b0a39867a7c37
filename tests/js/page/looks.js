// How every view looks: found by its links, read by axe-core in both themes, measured at every width, at twice the
// size of letters and with words as long as in German. Prints the views that it found and what is wrong, as JSON.
//
// Usage: looks.js JSON, with: host, code (the address with the secret), paths (views that no link leads to), wrong
// (forms that are not understood: path and fields), shots (a folder for pictures, or nothing)
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { browser, sendAgain, telephone } from "./telephone.js";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const asked = JSON.parse(process.argv[2]);
const origin = new URL(asked.code).origin;

/// Sources: WCAG 2.2, 2.5.5 (44 px) and 1.4.10 (320 px without scrolling sideways), 1.4.4 (letters twice as large).
const TARGET_PX = 44;
const WIDTHS = [320, 360, 768, 1280];
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
/// How much longer texts get: German is up to that much longer than English (W3C, "Text size in translation").
const LONGER = 1.4;
/// Views of one kind that are looked at.
const OF_A_KIND_MAX = 4;

const faults = [];
const open = await browser(asked.host);
try {
  const first = await telephone(open);
  await first.page.goto(asked.code);
  await first.page.waitForURL((url) => url.pathname === "/" && !url.hash);
  const storageState = await first.context.storageState();
  await first.context.close();
  const views = await found(storageState);
  for (const colorScheme of ["light", "dark"]) {
    // The rules' own script is put into the page, which its policy forbids to everyone.
    const { context, page } = await telephone(open, { storageState, colorScheme, bypassCSP: true });
    for (const view of views) {
      await go(page, view);
      await read(page, view, colorScheme);
      if (asked.shots) await shot(page, view, colorScheme);
    }
    await context.close();
  }
  const { context, page } = await telephone(open, { storageState, isMobile: false });
  for (const view of views) {
    await go(page, view);
    await measured(page, view, "");
    await page.evaluate(() => (document.documentElement.style.fontSize = "200%"));
    await measured(page, view, "letters twice as large");
    await page.evaluate(() => (document.documentElement.style.fontSize = ""));
    await page.evaluate(lengthen, LONGER);
    await measured(page, view, "longer words");
  }
  await context.close();
  console.log(JSON.stringify({ views: views.map((view) => view.name), faults }));
} finally {
  await open.close();
}

/// Every view that a link leads to, some of a kind, and those that are named.
async function found(storageState) {
  const { context, page } = await telephone(open, { storageState, javaScriptEnabled: false });
  const views = [];
  const seen = new Set();
  const kinds = new Map();
  const ways = ["/", ...asked.paths];
  for (let way = ways.shift(); way; way = ways.shift()) {
    const kind = way.replace(/\?.*/, "?").replace(/^(\/[a-z]+)\/[^?]*/, "$1/*");
    const many = (kinds.get(kind) ?? 0) + 1;
    if (seen.has(way) || many > OF_A_KIND_MAX) continue;
    seen.add(way);
    kinds.set(kind, many);
    const answer = await page.goto(origin + way);
    if (!(answer.headers()["content-type"] ?? "").startsWith("text/html")) continue;
    views.push({ name: way, way });
    const links = await page.locator("a[href]").evaluateAll((all) => all.map((one) => one.getAttribute("href")));
    ways.push(...links.filter((href) => href.startsWith("/") && !href.endsWith(".crt")));
  }
  await context.close();
  for (const [way, fields] of asked.wrong) views.push({ name: `${way} (not understood)`, way, fields });
  return views;
}

/// Opens a view, or sends a form that it refuses; what is folded away in it is opened.
async function go(page, view) {
  if (view.fields) {
    await page.goto(`${origin}/kit`);
    await sendAgain(page, view.way, view.fields);
    await page.waitForURL(origin + view.way);
  } else {
    await page.goto(origin + view.way);
  }
  await page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = true)));
}

/// What the rules find.
async function read(page, view, theme) {
  await page.evaluate(axe);
  const said = await page.evaluate((values) => globalThis.axe.run({ runOnly: { type: "tag", values } }), RULES);
  for (const { id, nodes } of said.violations) {
    faults.push(`${view.name}, ${theme}: ${id}: ${nodes.map((node) => node.html).join(" ")}`);
  }
  if (said.passes.length < 10) faults.push(`${view.name}, ${theme}: only ${said.passes.length} rules were read`);
}

/// What is too small to be hit in gloves, and what does not fit.
async function measured(page, view, how) {
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: 640 });
    for (const fault of await page.evaluate(look, TARGET_PX)) {
      faults.push(`${view.name}, ${width} px${how && ", " + how}: ${fault}`);
    }
  }
}

/// In the page: what is wrong with it as it stands.
function look(least) {
  const wrong = [];
  const wide = document.documentElement;
  if (wide.scrollWidth > wide.clientWidth) wrong.push(`scrolls sideways: ${wide.scrollWidth} of ${wide.clientWidth}`);
  const targets = document.querySelectorAll("a, button, input:not([type=hidden]), select, textarea, summary");
  for (const one of targets) {
    // A box to tick is hit by its whole line.
    const ticks = one.type === "checkbox" || one.type === "radio";
    const { width, height, right } = (ticks ? one.closest("label") : one).getBoundingClientRect();
    if (width === 0) continue;
    const name = one.outerHTML.slice(0, 60);
    // A pixel's fraction is lost where it is drawn.
    if (Math.min(width, height) < least - 0.5) wrong.push(`${Math.round(width)} by ${Math.round(height)}: ${name}`);
    if (right > wide.clientWidth + 0.5) wrong.push(`reaches out: ${name}`);
  }
  for (const one of document.querySelectorAll("body *")) {
    const holds = [...one.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());
    const { overflowX } = getComputedStyle(one);
    if (holds && overflowX !== "visible" && one.scrollWidth > one.clientWidth + 1) {
      wrong.push(`is cut off: ${one.outerHTML.slice(0, 60)}`);
    }
  }
  return wrong;
}

/// In the page: every word longer, by more letters of its own.
function lengthen(by) {
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const text = texts.currentNode;
    text.data = text.data.replace(/\p{L}{3,}/gu, (word) => word + word.slice(0, Math.ceil(word.length * (by - 1))));
  }
}

/// A picture of a view, whole.
async function shot(page, view, theme) {
  const name = view.name.replace(/[^a-zA-Z0-9]+/g, "-").replace(/^-|-$/g, "") || "today";
  await page.screenshot({ path: `${asked.shots}/${name}-${theme}.png`, fullPage: true });
}
