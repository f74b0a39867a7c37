// From the code's address to a job that is logged with a torn pad and a weighed bottle, by touch alone; what is
// sent twice; a signal that is cut; a piece by its label. Prints what it did, as JSON.
//
// Usage: day.js JSON, with: host, port and service (where the proxy listens and where the service is), code (the
// address with the secret), job, grams, label (a piece's address), second (a code as it is typed)
import { browser, heading, see, sendAgain, telephone } from "./telephone.js";
import { Link } from "./link.js";

const asked = JSON.parse(process.argv[2]);
const link = await Link.open(asked.port, asked.service);
const open = await browser(asked.host);
const done = {};
try {
  const first = await telephone(open);
  done.log = await log(first);
  done.twice = await twice(first);
  done.lost = await lost(first);
  done.cut = await cut(first);
  done.label = await label(first);
  see(first.complaints.length === 0, first.complaints.join("; "));
  done.newcomer = await newcomer();
} finally {
  await open.close();
  link.close();
}
console.log(JSON.stringify(done));

/// The number of the entry that a page shows.
function entry(page) {
  const [, seq] = page.url().match(/\/entry\/(\d+)/) ?? [];
  see(seq, `no entry at ${page.url()}`);
  return Number(seq);
}

async function log({ page, hand }) {
  await page.goto(asked.code);
  await page.waitForURL((url) => url.pathname === "/" && !url.hash);
  see((await heading(page)) === "Today", await heading(page));
  await hand.tap(page.locator(`a[href="/log/${asked.job}"], a[href="/check/${asked.job}"]`).last());
  await page.waitForURL(/\/(log|check)\//);
  if (page.url().includes("/check/")) {
    await hand.tap(page.locator(`main a[href="/log/${asked.job}"]`).first());
    await page.waitForURL(/\/log\//);
  }
  const torn = page.locator("input[name=torn]").first();
  const pad = await torn.getAttribute("value");
  await hand.tap(torn.locator("xpath=ancestor::label"));
  const weight = page.locator("input[name^='gross.']").first();
  const bottle = (await weight.getAttribute("name")).slice("gross.".length);
  await hand.type(weight, asked.grams);
  await hand.tap(page.locator("main form button:not(.back)").last());
  await page.waitForURL(/\/entry\//);
  see((await heading(page)) === "Recorded", await heading(page));
  return { pad, bottle, entry: entry(page), taps: hand.taps, typed: hand.typed };
}

/// A button that is hit twice, as fast as a thumb can, and a form that is sent once more as it was.
async function twice({ page }) {
  await page.goto(`${new URL(asked.code).origin}/weigh`);
  await page.locator("input[name^='gross.']").first().fill(asked.grams);
  const sent = page.waitForRequest((request) => request.method() === "POST");
  await page.locator("main form button:not(.back)").last().dblclick({ delay: 0 });
  await page.waitForURL(/\/entry\//);
  const one = entry(page);
  const form = await sent;
  await page.goto(`${new URL(asked.code).origin}/kit`);
  await sendAgain(page, new URL(form.url()).pathname, [...new URLSearchParams(form.postData())]);
  await page.waitForURL(/\/entry\//);
  return { entry: one, again: entry(page) };
}

/// The signal goes once the form is on its way: nothing of it comes to the service.
async function lost({ page }) {
  await page.goto(`${new URL(asked.code).origin}/weigh`);
  await page.locator("input[name^='gross.']").first().fill(asked.grams);
  link.cut("before");
  await page.locator("main form button:not(.back)").last().tap();
  return joined(page);
}

/// The signal goes while the service answers: it has recorded, and the telephone does not know.
async function cut({ page }) {
  await page.goto(`${new URL(asked.code).origin}/weigh`);
  await page.locator("input[name^='gross.']").first().fill(asked.grams);
  link.cut("after");
  await page.locator("main form button:not(.back)").last().tap();
  return joined(page);
}

/// What the page says without signal and once it is back.
async function joined(page) {
  const place = page.locator("#unsent");
  await place.getByText("No signal").first().waitFor();
  const without = await place.innerText();
  link.join();
  await place.getByText("There is signal again").first().waitFor({ timeout: 60_000 });
  const back = await place.innerText();
  const way = await place.locator("a[href*='/entry/']").first().getAttribute("href");
  return { without, back, entry: Number(way.split("/").pop()) };
}

async function label({ page }) {
  await page.goto(asked.label);
  return { heading: await heading(page), at: page.url() };
}

/// A telephone that is not paired scans a label: it types its code there and comes to the piece.
async function newcomer() {
  const { page, hand, complaints } = await telephone(open);
  await page.goto(asked.label);
  see((await heading(page)) === "Pair this telephone", await heading(page));
  await hand.type(page.locator("#code"), asked.second);
  await hand.tap(page.getByRole("button", { name: "Pair" }));
  await page.getByRole("heading", { name: asked.label.split("/").pop() }).waitFor();
  see(page.url() === asked.label, page.url());
  see(complaints.length === 0, complaints.join("; "));
  return { heading: await heading(page), taps: hand.taps, typed: hand.typed };
}
