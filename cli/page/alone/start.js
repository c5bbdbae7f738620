// From a folder on a host: the worker is a file of its own, and a service worker keeps all files.
export const worker = new Worker("worker.js", { type: "module" });
if ("serviceWorker" in navigator) navigator.serviceWorker.register("sw.js");
