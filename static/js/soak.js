// Counts a soak down. The page says the time without it; this keeps the figure fresh, and says so
// in the title and aloud when the time is up.
const place = document.getElementById("left");
if (place) {
  const until = Date.parse(place.dataset.until);
  // The phone's clock may be wrong: only how long the page has stood is taken from it.
  const end = Date.now() + until - Date.parse(place.dataset.now);
  const title = document.title;
  let timer;
  const words = (seconds) => {
    const two = (n) => String(n).padStart(2, "0");
    return `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
  };
  const tick = () => {
    const left = Math.ceil((end - Date.now()) / 1000);
    if (left > 0) {
      place.textContent = words(left);
      document.title = `${words(left)} | ${title}`;
      return;
    }
    clearInterval(timer);
    place.setAttribute("role", "alert");
    place.textContent = "Time is up";
    document.title = `Time is up | ${title}`;
    if (navigator.vibrate) navigator.vibrate([400, 200, 400]);
    // The page that says 'ended' comes from the server, once, when nothing is being typed.
    if (!document.querySelector("details[open]")) setTimeout(() => location.reload(), 3000);
  };
  if (end > Date.now()) {
    tick();
    timer = setInterval(tick, 1000);
  }
}
