// A telephone for the tests of the page at the bench: a real Chromium without a window, 360 by 640 points, touched
// and typed on as by a person, each tap and each letter counted. The book's own certificate is accepted, as its
// owner does at the warning.
import { chromium } from "playwright-core";

const SMALL = { width: 360, height: 640 };
const PATIENCE_MS = 15_000;

/// A browser that finds `host` on this machine.
export function browser(host) {
  return chromium.launch({
    executablePath: process.env.FETTLEBOOK_CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox", `--host-resolver-rules=MAP ${host} 127.0.0.1`],
  });
}

/// A telephone of its own: nothing is remembered of another.
export async function telephone(open, more = {}) {
  const context = await open.newContext({
    viewport: SMALL,
    hasTouch: true,
    isMobile: true,
    ignoreHTTPSErrors: true,
    ...more,
  });
  context.setDefaultTimeout(PATIENCE_MS);
  const page = await context.newPage();
  const complaints = [];
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("console", (said) => {
    // What is refused by status is looked at where it is meant; anything else is a fault of the page.
    if (said.type() === "error" && !/the server responded with a status|net::ERR_/.test(said.text())) {
      complaints.push(said.text());
    }
  });
  return { context, page, hand: new Hand(page), complaints };
}

/// A hand on the glass.
class Hand {
  taps = 0;
  typed = 0;

  constructor(page) {
    this.page = page;
  }

  async tap(what) {
    await what.scrollIntoViewIfNeeded();
    await what.tap();
    this.taps += 1;
  }

  async type(into, text) {
    await this.tap(into);
    await this.page.keyboard.type(text);
    this.typed += text.length;
  }
}

/// Fails with a word where something is not so.
export function see(is, what) {
  if (!is) throw new Error(what);
}

/// The words of a page's heading.
export const heading = (page) => page.locator("h1").innerText();

/// Sends a form with these fields, as a browser sends one again.
export function sendAgain(page, action, fields) {
  return page.evaluate(
    ({ action, fields }) => {
      const form = document.createElement("form");
      Object.assign(form, { method: "post", action });
      for (const [name, value] of fields) form.append(Object.assign(document.createElement("input"), { name, value }));
      document.body.append(form);
      HTMLFormElement.prototype.submit.call(form);
    },
    { action, fields },
  );
}
