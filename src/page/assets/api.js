// SPDX-License-Identifier: GPL-3.0-or-later
/* Requests to the program that serves this page. Addresses are relative, so each carries the run's key. */

/** An answer that is an error, with what to do about it. */
export class Refusal extends Error {
  /** @param {import("./types.js").Problem} problem */
  constructor(problem) {
    super(problem.message);
    this.problem = problem;
  }
}

/** @type {import("./types.js").Problem} */
export const GONE = {
  code: "no-answer", message: "The program does not answer",
  remedy: "Start strandline bench again and open the address that it prints: your work is kept."
};

/**
 * @param {string} address
 * @param {RequestInit} [options]
 */
async function ask(address, options) {
  let answer;
  try {
    answer = await fetch(address, options);
  } catch {
    throw new Refusal(GONE);
  }
  if (answer.ok) return answer;
  const body = await answer.json().catch(() => null);
  throw new Refusal(body && body.error ? body.error :
    { code: "http-" + answer.status, message: `The program refused this (${answer.status})`, remedy: "Try again." });
}

/** @param {string} address @returns {Promise<any>} */
export async function get(address) {
  return (await ask(address)).json();
}

/** @param {string} address */
export async function getText(address) {
  return (await ask(address)).text();
}

/** @param {string} address @param {unknown} body @returns {Promise<any>} */
export async function post(address, body) {
  const headers = { "Content-Type": "application/json" };
  return (await ask(address, { method: "POST", headers, body: JSON.stringify(body) })).json();
}

/** @param {string} id */
export async function remove(id) {
  await ask("./photos/" + encodeURIComponent(id), { method: "DELETE" });
}

/**
 * Sends one file; an XMLHttpRequest, since it alone tells how far an upload has come.
 * @param {File} file
 * @param {(part: number) => void} progress
 * @returns {Promise<string[]>}
 */
export function upload(file, progress) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("PUT", "./photos?name=" + encodeURIComponent(file.name || "pasted.png"));
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.responseType = "json";
    request.upload.addEventListener("progress", e => progress(e.lengthComputable ? e.loaded / e.total : 0));
    request.addEventListener("error", () => reject(new Refusal(GONE)));
    request.addEventListener("load", () => {
      if (request.status < 300) resolve(request.response && request.response.ids || []);
      else reject(new Refusal(request.response && request.response.error || GONE));
    });
    request.send(file);
  });
}
