// SPDX-License-Identifier: GPL-3.0-or-later
/* The program under test: `strandline bench` and the command line beside it. */
import { execFile, spawn } from "node:child_process";
import { promisify } from "node:util";

const run = promisify(execFile);
/* Under a sanitizer and on a busy machine a start takes its time. */
const START_MS = 20000;

/** Starts the page with its work kept under `state`; gives its address and ways to end it. */
export function start(binary, state) {
  const began = Date.now();
  const child = spawn(binary, ["bench", "--no-open"], { env: { ...process.env, XDG_STATE_HOME: state }, stdio: ["ignore", "pipe", "pipe"] });
  const ended = new Promise(resolve => child.on("exit", (code, signal) => resolve({ code, signal })));
  return new Promise((resolve, reject) => {
    let said = "";
    const timer = setTimeout(() => reject(new Error("no address within 20 s: " + said)), START_MS);
    const listen = chunk => {
      said += chunk;
      const found = /http:\/\/(127\.0\.0\.1|localhost):\d+\/[^\s/]+\//.exec(said);
      if (!found) return;
      clearTimeout(timer);
      resolve({ address: found[0], pid: child.pid, started_ms: Date.now() - began, end: signal => { child.kill(signal); return ended; } });
    };
    child.stdout.on("data", listen);
    child.stderr.on("data", listen);
    ended.then(() => { clearTimeout(timer); reject(new Error("the program ended: " + said)); });
  });
}

/** One document of the command line. */
export async function read(binary, verb, ...words) {
  const { stdout } = await run(binary, [verb, "--json", "--quiet", ...words], { maxBuffer: 1 << 28 });
  return JSON.parse(stdout);
}
