/* The record of one house on a phone: ticks, names, times, moisture, photos, by opening and step. All of it stays in the
   browser's own store until someone exports it as one file. Without a store it lasts until the file is closed. */
(async function () {
  "use strict";
  const root = document.documentElement;
  const told = root.dataset;
  const MOST_PHOTOS = Number(told.mostPhotos), MOST_BYTES = Number(told.mostBytes), LARGEST = Number(told.largestPhoto);
  const SPARE = 20e6; // bytes the phone should have left before a photo is taken
  const TRIES = [[1280, 0.75], [1280, 0.5], [800, 0.5]]; // longest side and quality of a photo, until it is small enough
  const byId = (id) => document.getElementById(id);
  const all = (query, inside) => [...(inside || document).querySelectorAll(query)];
  const megabytes = (bytes) => (bytes / 1e6).toFixed(bytes < 10e6 ? 1 : 0) + " MB";

  function now() {
    const time = new Date();
    return new Date(time - time.getTimezoneOffset() * 60000).toISOString().slice(0, 19);
  }
  const clock = (time) => time.slice(0, 16).replace("T", ", ");
  function plain(text) { // as typed, without halves of letters
    return Array.from(text.trim()).filter((letter) => !/^[\ud800-\udfff]$/.test(letter)).join("");
  }
  function made(tag, words, kind) {
    const one = document.createElement(tag);
    one.textContent = words || "";
    if (kind) { one.className = kind; }
    return one;
  }

  /* ---- the phone's store */
  const STORES = ["entries", "photos", "pictures"];
  function opened() {
    return new Promise((done) => {
      try {
        const asked = window.indexedDB.open("site record " + told.key + " " + told.inputs + " " + told.version, 1);
        asked.onupgradeneeded = () => STORES.forEach((name) => asked.result.createObjectStore(name));
        asked.onsuccess = () => done(asked.result);
        asked.onerror = () => done(null);
      } catch (fault) { done(null); }
    });
  }
  const store = await opened();
  const loose = new Map(); // pictures, where there is no store
  function kept(change) { // whether the change is on the phone
    return new Promise((done) => {
      if (!store) { done(false); return; }
      try {
        const work = store.transaction(STORES, "readwrite");
        work.oncomplete = () => done(true);
        work.onerror = work.onabort = () => done(false);
        change((name) => work.objectStore(name));
      } catch (fault) { done(false); }
    });
  }
  function read(name) {
    return new Promise((done) => {
      const found = new Map();
      if (!store) { done(found); return; }
      const asked = store.transaction(name).objectStore(name).openCursor();
      asked.onerror = () => done(found);
      asked.onsuccess = () => {
        const at = asked.result;
        if (!at) { done(found); return; }
        found.set(at.key, at.value);
        at.continue();
      };
    });
  }
  function picture(number) {
    return new Promise((done) => {
      if (!store) { done(loose.get(number)); return; }
      const asked = store.transaction("pictures").objectStore("pictures").get(number);
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => done("");
    });
  }
  const entries = await read("entries"); // "step MARK NUMBER", "opening MARK", "box ID" -> what was recorded
  const photos = await read("photos"); // number -> what is known of it
  const bytes = () => [...photos.values()].reduce((sum, one) => sum + one.size, 0);
  async function keep(id, entry) {
    entries.set(id, entry);
    const done = await kept((of) => of("entries").put(entry, id));
    if (store && !done) { warn("This is not kept: the phone has no room. Export the record now, then make room."); }
    byId("kept").textContent = done ? "Kept on this phone at " + now().slice(11, 16) + "." : "";
    tell();
  }
  function warn(words) {
    byId("warning").hidden = !words;
    byId("warning-words").textContent = words;
  }
  async function left() { // bytes the phone still gives this file; null where it does not say
    try {
      const told = await navigator.storage.estimate();
      return told.quota - told.usage;
    } catch (fault) { return null; }
  }
  async function noRoom() { // why no photo may be taken, in words; empty where one may
    if (photos.size >= MOST_PHOTOS || bytes() + LARGEST > MOST_BYTES) {
      return "This record is full: " + photos.size + " photos, " + megabytes(bytes()) + ". Export it, then clear it.";
    }
    const room = await left();
    return room !== null && room < SPARE
      ? "The phone has " + megabytes(Math.max(0, room)) + " left for this file. Export the record and make room before you take photos."
      : "";
  }

  /* ---- openings: those of the list, and those added here */
  if (!entries.has("phone")) {
    const letters = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
    const name = [...crypto.getRandomValues(new Uint8Array(4))].map((one) => letters[one % letters.length]).join("");
    entries.set("phone", { name: name });
    kept((of) => of("entries").put({ name: name }, "phone"));
  }
  const phone = entries.get("phone").name;
  const openings = new Map();
  function know(link, list, added) {
    const section = list.closest("section");
    const door = link.dataset.kind.startsWith("door");
    openings.set(link.dataset.mark, {
      mark: link.dataset.mark, code: list.dataset.code, kind: link.dataset.kind, size: link.dataset.size,
      added: added, link: link, section: section, steps: all(".run .do > li" + (door ? "" : ":not(.for-door)"), section),
    });
  }
  function row(list, given) { // a line of the list for an opening someone added
    const link = made("a");
    link.href = "#" + list.closest("section").id + "/" + given.mark;
    Object.assign(link.dataset, { mark: given.mark, kind: given.kind, size: given.size });
    const words = made("span", given.kind + " " + given.size, "n");
    words.append(made("span", "added on site"));
    link.append(made("span", given.mark, "code"), words, made("span", "", "v"), made("span", "", "silent"));
    const line = made("li");
    line.append(link);
    list.querySelector(".rows").append(line);
    know(link, list, true);
  }
  const lists = all(".openings");
  lists.forEach((list) => {
    all("a[data-mark]", list).forEach((link) => know(link, list, false));
    entries.forEach((entry, id) => {
      if (id.startsWith("added ") && entry.code === list.dataset.code) { row(list, entry); }
    });
    list.append(byId("adding").content.cloneNode(true));
    const form = list.querySelector("form");
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const size = form.elements.width.value + " × " + form.elements.height.value;
      const stem = list.dataset.code + (/\d$/.test(list.dataset.code) ? "-" : "");
      let number = 1;
      while (openings.has(stem + number) || openings.has(stem + number + "-" + phone)) { number += 1; }
      const given = { code: list.dataset.code, mark: stem + number + "-" + phone, kind: form.elements.kind.value, size: size };
      row(list, given);
      await keep("added " + given.mark, given);
      form.reset();
      form.closest("details").open = false;
      window.location.hash = openings.get(given.mark).link.hash;
    });
  });

  /* ---- one opening: frames with their ticks, hold points, signature */
  let current = null;
  const stepId = (mark, step) => "step " + mark + " " + step;
  const stepOf = (opening, line) => entries.get(stepId(opening.mark, line.dataset.step)) || {};
  const photosOf = (mark, step) => [...photos.values()].filter((one) => one.mark === mark && (!step || one.step === Number(step)));
  const missing = (opening) => opening.steps.filter((line) => "hold" in line.dataset && !stepOf(opening, line).result);

  all(".run").forEach((run) => {
    all("li[data-step]", run).forEach((line) => {
      if (!("hold" in line.dataset)) { return; }
      const form = byId("hold").content.cloneNode(true);
      all("[type=radio]", form).forEach((one) => { one.name = run.id + "-" + line.dataset.step; });
      line.append(form);
    });
    run.append(byId("signing").content.cloneNode(true));
    ["change", "input"].forEach((kind) => run.addEventListener(kind, (event) => changed(event.target, kind)));
    run.querySelector(".sign").addEventListener("click", async () => {
      const by = plain(run.querySelector("[data-signed]").value);
      if (!by) { warn("Write your name, then sign."); return; }
      warn("");
      await keep("opening " + current.mark, { by: by, at: now() });
      fill();
    });
    const swiped = run.querySelector(".do");
    swiped.addEventListener("scroll", () => fit(swiped));
    const sizes = new ResizeObserver(() => fit(swiped));
    [...swiped.children].forEach((card) => sizes.observe(card));
    all(".turn", run).forEach((button) => button.addEventListener("click", () => {
      swiped.scrollBy({ left: Number(button.dataset.way) * swiped.querySelector("li").offsetWidth, behavior: "auto" });
    }));
  });
  function fit(swiped) { // as high as the cards in sight: nothing empty stands under a short one
    const at = swiped.getBoundingClientRect();
    const high = [...swiped.children].filter((card) => {
      const its = card.getBoundingClientRect();
      return Math.min(its.right, at.right) - Math.max(its.left, at.left) > 30; // more than the edge of the next
    }).map((card) => card.offsetHeight);
    if (high.length) { swiped.style.height = Math.max(...high) + swiped.offsetHeight - swiped.clientHeight + "px"; }
  }
  async function changed(field, kind) { // text is kept at every letter, all else when it is set
    const line = field.closest("li[data-step]");
    if (!current || !line || (kind === "input" && !field.matches("[type=text], textarea"))) { return; }
    const step = line.dataset.step;
    const entry = Object.assign({}, stepOf(current, line));
    if (field.type === "file") {
      await photograph(field, current.mark, Number(step), line);
      return;
    }
    if (field.type === "checkbox") {
      entry.done = field.checked ? now() : "";
      const open = current.steps.filter((one) => Number(one.dataset.step) < Number(step) && missing(current).includes(one));
      warn(field.checked && open.length ? "The record of step " + open[0].dataset.step + " is missing." : "");
    } else if (field.type === "radio") {
      entry.result = field.value;
      entry.at = now();
      const who = line.querySelector("[data-field=by]");
      if (!who.value && entries.has("who")) { who.value = entry.by = entries.get("who").name; }
    } else {
      entry[field.dataset.field] = plain(field.value);
      if (field.dataset.field === "moisture") {
        const sound = /^(\d{1,2}([.,]\d)?|100)?$/.test(entry.moisture);
        if (kind === "change") {
          field.setAttribute("aria-invalid", String(!sound));
          warn(sound ? "" : "Moisture is a number from 0 to 100, in percent.");
        }
        if (!sound) { return; }
      }
    }
    entry.changed = now();
    const done = [keep(stepId(current.mark, step), entry)];
    state(line);
    if (field.dataset.field === "by" && entry.by) { done.push(keep("who", { name: entry.by })); }
    await Promise.all(done);
  }
  function state(line) { // what stands under a frame, and under the last one
    const entry = stepOf(current, line);
    const when = line.querySelector(".when");
    if (when) { when.textContent = entry.at ? "Result set " + clock(entry.at) + "." : "No result yet."; }
    const open = missing(current), signed = entries.get("opening " + current.mark);
    const run = current.section.querySelector(".run");
    run.querySelector(".open").textContent = open.length
      ? "Still to record: step " + open.map((one) => one.dataset.step).join(", ") + "."
      : "Every hold point has its result.";
    run.querySelector(".signed").textContent = signed ? "Signed by " + signed.by + ", " + clock(signed.at) + "." : "Not signed.";
  }
  function fill() {
    const run = current.section.querySelector(".run");
    run.dataset.kind = current.kind.startsWith("door") ? "door" : "window";
    run.querySelector(".which").textContent = current.mark + ": " + current.kind + " " + current.size;
    current.steps.forEach((line) => {
      const entry = stepOf(current, line);
      line.querySelector("[type=checkbox]").checked = Boolean(entry.done);
      all("[type=radio]", line).forEach((one) => { one.checked = one.value === entry.result; });
      all("[data-field]", line).forEach((one) => { one.value = entry[one.dataset.field] || ""; one.removeAttribute("aria-invalid"); });
      state(line);
      thumbs(line);
    });
    run.querySelector("[data-signed]").value = (entries.get("opening " + current.mark) || entries.get("who") || {}).by || (entries.get("who") || {}).name || "";
  }
  async function thumbs(line) {
    const place = line.querySelector(".photos");
    if (!place) { return; }
    const mark = current.mark;
    const shown = [];
    for (const one of photosOf(mark, line.dataset.step)) {
      const figure = made("figure"), image = made("img"), remove = made("button", "Remove photo " + one.number);
      image.alt = "Photo " + one.number + ", step " + one.step + ", taken " + clock(one.taken);
      image.src = "data:image/jpeg;base64," + await picture(one.number);
      remove.type = "button";
      remove.addEventListener("click", async () => {
        if (!window.confirm("Remove photo " + one.number + "? It cannot be brought back.")) { return; }
        photos.delete(one.number);
        loose.delete(one.number);
        await kept((of) => { of("photos").delete(one.number); of("pictures").delete(one.number); });
        thumbs(line);
        tell();
      });
      figure.append(image, remove);
      shown.push(figure);
    }
    if (current && current.mark === mark) { place.replaceChildren(...shown); }
  }

  /* ---- photos */
  async function scaled(file) {
    const image = await createImageBitmap(file);
    for (const [side, quality] of TRIES) {
      const share = Math.min(1, side / Math.max(image.width, image.height));
      const canvas = made("canvas");
      canvas.width = Math.max(1, Math.round(image.width * share));
      canvas.height = Math.max(1, Math.round(image.height * share));
      canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
      const small = await new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
      if (small && small.size <= LARGEST) { return new Uint8Array(await small.arrayBuffer()); }
    }
    throw new Error("too large");
  }
  async function photograph(field, mark, step, line) {
    const file = field.files[0];
    if (!file) { return; }
    const full = await noRoom();
    warn(full);
    if (full) { field.value = ""; return; }
    let taken;
    try { taken = await scaled(file); } catch (fault) { warn("This is no photo that the phone can open."); }
    field.value = "";
    if (!taken) { return; }
    const number = 1 + Math.max(0, ...photos.keys());
    const about = { number: number, mark: mark, step: step, taken: now(), sha256: sha256(taken), size: taken.length };
    const letters = base64(taken);
    const done = await kept((of) => { of("photos").put(about, number); of("pictures").put(letters, number); });
    if (store && !done) { warn("The photo is not kept: the phone has no room. Export the record now, then make room."); return; }
    if (!store) { loose.set(number, letters); }
    photos.set(number, about);
    await thumbs(line);
    tell();
    try { await navigator.storage.persist(); } catch (fault) { /* the phone makes no promises */ }
  }
  function base64(raw) {
    let letters = "";
    for (let at = 0; at < raw.length; at += 32768) { letters += String.fromCharCode(...raw.subarray(at, at + 32768)); }
    return window.btoa(letters);
  }
  function sha256(raw) { // FIPS 180-4; the browser's own is not there in every file opened from a phone
    const turn = (word, by) => (word >>> by) | (word << (32 - by));
    const primes = [];
    for (let one = 2; primes.length < 64; one += 1) { if (primes.every((prime) => one % prime)) { primes.push(one); } }
    const rest = (root) => ((root - Math.floor(root)) * 4294967296) | 0;
    const rounds = primes.map((prime) => rest(Math.cbrt(prime)));
    const sum = primes.slice(0, 8).map((prime) => rest(Math.sqrt(prime)));
    const whole = new Uint8Array(((raw.length + 72) >> 6) << 6);
    whole.set(raw);
    whole[raw.length] = 128;
    const words = new DataView(whole.buffer);
    words.setUint32(whole.length - 8, Math.floor(raw.length / 536870912));
    words.setUint32(whole.length - 4, (raw.length * 8) >>> 0);
    const w = new Int32Array(64);
    for (let at = 0; at < whole.length; at += 64) {
      for (let t = 0; t < 64; t += 1) {
        if (t < 16) { w[t] = words.getInt32(at + 4 * t); continue; }
        const x = w[t - 15], y = w[t - 2];
        w[t] = w[t - 16] + (turn(x, 7) ^ turn(x, 18) ^ (x >>> 3)) + w[t - 7] + (turn(y, 17) ^ turn(y, 19) ^ (y >>> 10));
      }
      let [a, b, c, d, e, f, g, h] = sum;
      for (let t = 0; t < 64; t += 1) {
        const one = (h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + rounds[t] + w[t]) | 0;
        const two = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
        [h, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
      }
      [a, b, c, d, e, f, g, h].forEach((word, place) => { sum[place] = (sum[place] + word) | 0; });
    }
    return sum.map((word) => (word >>> 0).toString(16).padStart(8, "0")).join("");
  }

  /* ---- one file to take to the office */
  function record() {
    const held = [...openings.values()].map((one) => {
      const signed = entries.get("opening " + one.mark) || {};
      return {
        mark: one.mark, elevation: one.code, kind: one.kind, size: one.size, added: one.added,
        signed_by: signed.by || "", signed_at: signed.at || "",
        holds: one.steps.filter((line) => "hold" in line.dataset).map((line) => Number(line.dataset.step)),
        steps: one.steps.filter((line) => entries.has(stepId(one.mark, line.dataset.step))).map((line) => {
          const entry = stepOf(one, line);
          const said = { step: Number(line.dataset.step) };
          ["done", "result", "by", "at", "moisture", "note", "changed"].forEach((word) => { said[word] = entry[word] || ""; });
          return said;
        }),
      };
    });
    const places = all(".place input").map((box) => ({
      elevation: box.closest("[data-wall]").dataset.wall,
      what: plain(box.parentElement.querySelector(".t").textContent).slice(0, 200),
      done: (entries.get("box " + box.id) || {}).done || "",
    }));
    return { key: told.key, inputs: told.inputs, house: told.house, phone: phone, exported: now(), openings: held, places: places };
  }
  async function save() {
    const about = [...photos.values()].map(({ number, mark, step, taken, sha256 }) => ({ number, mark, step, taken, sha256 }));
    const whole = record();
    const sum = sha256(new TextEncoder().encode(JSON.stringify(Object.assign({}, whole, { photos: about }))));
    const parts = [
      JSON.stringify({ format: told.format, version: Number(told.version), sha256: sum }).slice(0, -1),
      ',"record":' + JSON.stringify(whole).slice(0, -1) + ',"photos":[',
    ];
    for (const [place, one] of about.entries()) {
      parts.push((place ? "," : "") + JSON.stringify(one).slice(0, -1) + ',"picture":"' + await picture(one.number) + '"}');
    }
    parts.push("]}}\n");
    const link = made("a");
    link.href = URL.createObjectURL(new Blob(parts, { type: "application/json" }));
    link.download = "site-record-" + told.name + "-" + phone + "-" + whole.exported.slice(0, 16).replace(/[T:]/g, "-") + ".json";
    link.click();
    window.setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    await keep("exported", { at: whole.exported });
  }
  byId("export").addEventListener("click", save);

  /* ---- what is told on the page */
  const unchosen = new Map(all(".run [data-count]").map((line) => [line, line.textContent]));
  function tell() {
    openings.forEach((one) => {
      const done = one.steps.filter((line) => stepOf(one, line).done).length;
      const held = one.steps.filter((line) => "hold" in line.dataset).length;
      const taken = photosOf(one.mark).length;
      one.link.querySelector(".v").textContent = done + "/" + one.steps.length;
      one.link.querySelector(".silent").textContent = " steps done, " + (held - missing(one).length) + " of " + held
        + " hold points recorded, " + taken + " photos";
    });
    const last = entries.get("exported");
    const begun = [...entries.keys()].some((id) => /^(step|box|opening|added) /.test(id)) || photos.size;
    byId("amount").textContent = photos.size + " of at most " + MOST_PHOTOS + " photos, " + megabytes(bytes()) + " of " + megabytes(MOST_BYTES) + ". "
      + (last ? "Last exported " + clock(last.at) + "." : begun ? "Not exported yet." : "");
    if (!current) { return; }
    const box = current.section.querySelector("[data-count]");
    box.textContent = current.steps.filter((line) => stepOf(current, line).done).length + " of " + current.steps.length + " steps done";
  }
  function show() {
    let mark = "";
    try { mark = decodeURIComponent(window.location.hash).split("/")[1]; } catch (fault) { /* no name of ours */ }
    current = openings.get(mark) || null;
    root.classList.toggle("recording", Boolean(current));
    all(".now").forEach((one) => one.classList.remove("now"));
    all(".run").forEach((run) => { delete run.dataset.kind; });
    warn("");
    if (current) {
      current.section.classList.add("now");
      current.section.querySelector(".do").scrollLeft = 0;
      const next = current.steps.find((line) => !stepOf(current, line).done);
      fill();
      window.scrollTo(0, 0);
      const run = current.section.querySelector(".run");
      run.querySelector(".back").href = "#" + current.section.id;
      if (next) { run.querySelector(".do").scrollLeft = next.offsetLeft - current.steps[0].offsetLeft; }
      run.querySelector(".which").focus({ preventScroll: true });
    } else {
      all(".run [type=checkbox]").forEach((box) => { box.checked = false; });
      all(".run .do").forEach((one) => { one.scrollLeft = 0; });
    }
    all(".run [type=checkbox]").forEach((box) => { box.disabled = !current; });
    all(".run [data-count]").forEach((line) => { line.textContent = unchosen.get(line); });
    tell();
  }
  all(".place input").forEach((box) => {
    box.checked = Boolean((entries.get("box " + box.id) || {}).done);
    box.addEventListener("change", () => keep("box " + box.id, { done: box.checked ? now() : "" }));
  });
  byId("clear").addEventListener("click", async () => {
    const lost = photos.size ? " and " + photos.size + " photos" : "";
    if (!window.confirm("Clear every tick, name, reading" + lost + " in this file? What was not exported is lost.")) { return; }
    await kept((of) => STORES.forEach((name) => of(name).clear()));
    window.location.hash = "";
    window.location.reload();
  });
  root.classList.add("kept");
  byId("keeps").hidden = !store;
  byId("loses").hidden = Boolean(store);
  all(".script").forEach((one) => { one.hidden = false; });
  window.addEventListener("hashchange", show);
  show();
  const short = await noRoom();
  if (short) { warn(short); }
  let folded = [];
  window.addEventListener("beforeprint", () => {
    folded = all("details").filter((one) => !one.open);
    folded.forEach((one) => { one.open = true; });
  });
  window.addEventListener("afterprint", () => folded.forEach((one) => { one.open = false; }));
  root.dataset.ready = "yes";
}());
