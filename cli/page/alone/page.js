// Forms are answered by the engine in a worker: what it draws is the HTML that the served page shows.
// The state is in the page's address (behind #), so a reload or a link finds the job again; and the
// job can be taken as a file after each answer, since browsers throw away what they keep.
import { worker } from "./start.js";

const main = document.querySelector("main");
const MOST_FILE = 200_000; // bytes, more than a job is
let busy = false;
let cold = true; // nothing was surveyed yet

worker.onmessage = ({ data }) => {
  if (data.html === undefined && !data.error) return; // it is warm now
  document.documentElement.dataset.start = data.start ?? "plain"; // how it started, for whoever looks
  busy = false;
  if (data.error) {
    main.querySelector("[role=status]").textContent = data.error;
    return;
  }
  main.innerHTML = data.html; // drawn and escaped by our own Python
  history.replaceState(null, "", data.state.length ? "#" + new URLSearchParams(data.state) : " ");
  const heading = main.querySelector("section h2") ?? main.querySelector("legend, h1");
  heading.tabIndex = -1; // a screen reader hears what is new
  heading.focus({ preventScroll: true });
  scrollTo(0, 0);
  if (cold) setTimeout(() => worker.postMessage({}), 50); // while a person reads the first screen
  cold = false;
};

// What a form sends; of a file what it says, for nothing here opens one by its name.
async function whole(form, submitter) {
  const fields = [];
  for (const [name, said] of new FormData(form, submitter))
    fields.push([name, typeof said === "string" ? said : await said.slice(0, MOST_FILE).text()]);
  return fields;
}

function send(fields) {
  busy = true;
  worker.postMessage({ fields, today: new Date().toLocaleDateString("sv") });
}

document.addEventListener("submit", (event) => {
  event.preventDefault();
  if (!busy) whole(event.target, event.submitter).then(send);
});

send([...new URLSearchParams(location.hash.slice(1))]);
