// Talks with the program behind the page, and with nobody else.

/** The token stands in the address that the program has printed. */
const TOKEN = new URLSearchParams(location.search).get("token") ?? "";

/** The page's own number at the program. */
let session = 0;

/** What the program refuses, with a way out. */
class Refused extends Error {
  constructor(message, help) {
    super(message);
    this.help = help ?? "";
  }
}

/** Asks the program. Throws `Refused` with its words. */
async function ask(path, question) {
  const answer = await sent(path, { ...question, session });
  if (answer.status === 410) {
    // Put aside because many pages are open: it takes up its unsaved values again.
    await reopen();
    return ask(path, question);
  }
  return understood(answer);
}

/** Opens the sheet, with a case and unsaved values. */
async function openSheet(given, edits) {
  const whole = await understood(await sent("/open", { case: given, edits }));
  session = whole.session;
  return whole;
}

async function sent(path, question) {
  try {
    return await fetch(path, {
      method: "POST",
      headers: { "content-type": "application/json", "x-forebay-token": TOKEN },
      body: JSON.stringify(question),
    });
  } catch {
    throw new Refused("the program behind this page does not answer", "start `forebay page` again; what you changed stays here until you close the page");
  }
}

async function understood(answer) {
  if (!answer.headers.get("content-type")?.startsWith("application/json")) {
    throw new Refused((await answer.text()).trim());
  }
  const json = await answer.json();
  if (json.error) throw new Refused(json.error, json.help);
  return json;
}

/** Waits for news of the file, for ever; `told` gets each one. */
async function listen(known, told) {
  for (;;) {
    try {
      const answer = await fetch(`/news?known=${known()}`, { headers: { "x-forebay-token": TOKEN } });
      await told(await understood(answer));
    } catch {
      await told({ version: known(), problem: "the program behind this page does not answer; start `forebay page` again" });
      await new Promise((done) => setTimeout(done, 2000));
    }
  }
}
