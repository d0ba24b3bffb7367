// Looks again at what is still being worked out, for as long as the page says that there is more to come.
// Without it the page loads itself anew.
const EVERY = 1000;
const look = async (place) => {
  try {
    const answer = await fetch(location.href);
    if (!answer.ok) return location.reload();
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById(place.id);
    // The answer has another address where the question was put again.
    if (!fresh || answer.redirected) return location.assign(answer.url);
    if (fresh.outerHTML !== place.outerHTML) {
      place.replaceWith(fresh);
      place = fresh;
    }
  } catch {
    // Without a connection it stays as it is, and is looked at again.
  }
  if (place.dataset.look) setTimeout(look, EVERY, place);
};
for (const place of document.querySelectorAll("[data-look]")) setTimeout(look, EVERY, place);
