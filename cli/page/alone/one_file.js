// Everything is in this page. A page opened from a folder may start no worker from a file, so the
// engine runs in the page itself, behind the two calls that a worker has.
const unpacked = async (id) => {
  const text = document.getElementById(id).textContent;
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
};
const module = async (id) =>
  import(URL.createObjectURL(new Blob([await unpacked(id)], { type: "text/javascript" })));
const NOWHERE = "https://none.invalid/"; // what is asked for there is in this page

const inside = (async () => {
  const fetched = window.fetch;
  window.fetch = async (address, options) => {
    const name = String(address).split("/").pop();
    if (!String(address).startsWith(NOWHERE)) return fetched(address, options);
    const type = name.endsWith("wasm") ? "application/wasm" : "application/zip";
    return new Response(await unpacked(name), { headers: { "Content-Type": type } });
  };
  const [{ loadPyodide }, { default: made }] = [await module("pyodide.mjs"), await module("pyodide.asm.mjs")];
  const python = await loadPyodide({
    indexURL: NOWHERE,
    createPyodideModule: (options) => made({ ...options, locateFile: (file) => NOWHERE + file }),
    lockFileContents: LOCK_OF_BUILD,
    packageBaseUrl: NOWHERE,
    env: { WHYWIRE_CACHE: "off", HOME: "/home/pyodide" },
  });
  python.unpackArchive(await unpacked("code.zip"), "zip", { extractDir: "/code" });
  python.unpackArchive(await unpacked("laws.zip"), "zip", { extractDir: "/laws" });
  return python.runPython(
    "import sys; sys.path.insert(0, '/code')\nfrom whywire.cli.page.alone import answer; answer",
  );
})();

const worker = {
  async postMessage(sent) {
    try {
      this.onmessage({ data: JSON.parse((await inside)(JSON.stringify(sent))) });
    } catch (error) {
      this.onmessage({ data: { error: `This is a defect of whywire: ${String(error).trim().split("\n").pop()}` } });
    }
  },
};
