// From a folder on a host: the worker is a file of its own, and a service worker keeps all files.
export const worker = new Worker("worker.js", { type: "module" });
if ("serviceWorker" in navigator) {
  navigator.serviceWorker.register("sw.js");
  // what makes the next start faster is fetched when this one is over
  const stands = () => navigator.serviceWorker.ready.then((there) => there.active.postMessage("more"));
  worker.addEventListener("message", stands, { once: true });
}
