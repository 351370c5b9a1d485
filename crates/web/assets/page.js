// Small comforts: each page works without them.

// A shop file is checked as it is typed.
for (const form of document.querySelectorAll("form[data-check]")) {
  const text = form.querySelector("textarea");
  const verdict = document.getElementById("verdict");
  let waiting, asked = 0;
  text.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const mine = ++asked;
      const sent = await fetch(form.dataset.check, { method: "POST", body: new URLSearchParams(new FormData(form)) });
      const said = await sent.text();
      if (sent.ok && mine === asked) verdict.innerHTML = said;
    }, 400);
  });
}

// A program may be dropped anywhere on the page.
const file = document.querySelector("form.drop input[type=file]");
if (file) {
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    if (event.dataTransfer.files.length) file.files = event.dataTransfer.files;
  });
}

// How far something is that is waited for, told by the server as it goes on; once it has ended, to what came of it.
const work = document.querySelector("[data-work]");
if (work) {
  const [bar, words] = [work.querySelector("progress"), work.querySelector(".reached")];
  const then = () => location.replace(work.dataset.then);
  const events = new EventSource(work.dataset.work);
  events.addEventListener("reached", (event) => {
    const { done, of, says } = JSON.parse(event.data);
    if (of) [bar.max, bar.value] = [of, done];
    else bar.removeAttribute("value");
    words.textContent = says;
  });
  events.addEventListener("ended", () => {
    events.close();
    then();
  });
  // A stream that breaks off is taken up again by the browser; where it is refused, the page looks by itself.
  events.addEventListener("error", () => {
    if (events.readyState === EventSource.CLOSED) setTimeout(then, 2000);
  });
  addEventListener("pagehide", () => events.close());
}

// A form that is under way is not sent again by a second tap.
for (const form of document.querySelectorAll("form[method=post]:not([data-check]):not([data-swap])")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
}
addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});

// What a tick changes is put in its place without the page being loaded anew.
addEventListener("submit", async (event) => {
  const { swap, name } = event.target.dataset;
  if (!swap) return;
  event.preventDefault();
  const form = event.target;
  try {
    const sent = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) });
    const page = new DOMParser().parseFromString(await sent.text(), "text/html");
    const [old, fresh] = [document.getElementById(swap), page.getElementById(swap)];
    if (!sent.ok || !fresh) throw new Error("not kept");
    const open = [...old.querySelectorAll("details")].map((details) => details.open);
    fresh.querySelectorAll("details").forEach((details, k) => (details.open = open[k] ?? false));
    old.replaceWith(fresh);
    fresh.querySelector(`form[data-name="${name}"] button`)?.focus();
  } catch {
    // Sent once more as any form is: it counts once, and what went wrong is told by a page.
    form.submit();
  }
});
