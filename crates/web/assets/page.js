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

// A form that is under way is not sent again by a second tap.
for (const form of document.querySelectorAll("form[method=post]:not([data-check])")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
}
addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});
