// Checks a form while it is being typed. The Check button does the same without it: the form is sent
// to be checked, nothing is saved, and only the answer's checks are taken into this page.
const form = document.querySelector("form[data-checks]");
const place = document.getElementById("checks");
if (form && place) {
  const PAUSE = 700;
  let timer;
  let asked = 0;
  const take = (fresh) => {
    const said = place.querySelector("[role=status]");
    const says = fresh.querySelector("[role=status]").textContent;
    // Only what changed is read aloud.
    if (said.textContent !== says) said.textContent = says;
    const all = place.querySelector("#checks-all");
    const open = [...all.querySelectorAll("details[open] > summary")].map((one) => one.textContent);
    all.replaceChildren(...fresh.querySelector("#checks-all").childNodes);
    for (const summary of all.querySelectorAll("summary")) {
      summary.parentElement.open = open.includes(summary.textContent);
    }
  };
  const ask = async () => {
    const turn = ++asked;
    const body = new URLSearchParams(new FormData(form));
    body.set("check", "yes");
    try {
      const answer = await fetch(form.action, { method: "POST", body });
      if (answer.status !== 200 && answer.status !== 422) return;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById("checks");
      // A later question may have been answered already.
      if (fresh && turn === asked) take(fresh);
    } catch {
      // Without a connection the page stays as it is; the button says so when it is pressed.
    }
  };
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, PAUSE);
  });
}
