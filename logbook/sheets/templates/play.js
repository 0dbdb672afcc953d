// The page plays: recordings beside it, the part as it is logged, and a stage to read from.
// Times are seconds of music; a track begins at its `at`, so its file's time is music time minus
// that. A loop needs two elements: the second waits where the loop begins, so no seek is heard.
(() => {
  "use strict";
  const $ = (id) => document.getElementById(id);
  const data = JSON.parse($("play-data").textContent);
  const deck = $("deck");
  const parts = [];
  data.versions.forEach((version) => version.parts.forEach((part) => {
    if (part.tracks.length || part.stage.sections.length) { parts.push({ version, part }); }
  }));
  if (!parts.length) { return; }
  const logged = (part) => part.tracks.find((track) => track.kind === "logged");
  const clamp = (value, low, high) => Math.min(Math.max(value, low), high);
  const create = (tag, text, more) => {
    const made = document.createElement(tag);
    made.textContent = text || "";
    Object.entries(more || {}).forEach(([name, value]) => made.setAttribute(name, value));
    return made;
  };
  const say = (text) => { $("p-said").textContent = text; };

  // What is on: which part, which track, where in the music.
  let on = parts[0], track = null, at = 0, speed = 1, loop = null, loopBars = null;
  let playing = false, turn = 0, lead = 0.012, context = null, counting = null, markedFrom = null;

  // Bars

  const bars = () => on.version.bars;
  const indexAt = (time) => {
    const rows = bars();
    let low = 0, high = rows.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (rows[middle][1] <= time + 1e-4) { low = middle; } else { high = middle - 1; }
    }
    return low;
  };
  const barAt = (time) => bars()[indexAt(time)];
  const startOf = (bar) => { const row = bars().find((each) => each[0] === bar); return row ? row[1] : null; };
  const endOf = (bar) => { const next = startOf(bar + 1); return next === null ? on.version.end : next; };
  const sectionAt = (bar) => on.version.sections.find((each) => each[1] <= bar && bar <= each[2]);
  const holds = (each, time) => time >= each.at - 1e-3 && time < each.at + each.long - 1e-3;

  // Two elements for each of what sounds: the chosen track, and the part as logged with it

  const slot = () => {
    const els = [0, 1].map(() => {
      const el = document.createElement("audio");
      el.preload = "auto";
      el.preservesPitch = true;
      el.hidden = true;
      deck.append(el);
      return el;
    });
    return { els, now: 0, track: null };
  };
  const main = slot(), beside = slot();
  const slots = () => (beside.track ? [main, beside] : [main]);
  const active = (each) => each.els[each.now];
  const waiting = (each) => each.els[1 - each.now];
  const load = (each, wanted) => {
    if (each.track === wanted) { return; }
    each.els.forEach((el) => {
      el.pause();
      if (wanted) { el.src = wanted.src; } else { el.removeAttribute("src"); }
    });
    each.track = wanted;
  };
  const ready = (el) => new Promise((done) => {
    const look = () => {
      if (el.error || (el.readyState >= 2 && !el.seeking)) { done(!el.error); }
      else { ["canplay", "seeked", "error"].forEach((name) => el.addEventListener(name, look, { once: true })); }
    };
    look();
  });
  const cue = (el, each, time) => { el.currentTime = Math.max(time - each.track.at, 0); };
  const pace = () => slots().forEach((each) => each.els.forEach((el) => {
    el.preservesPitch = true;
    el.defaultPlaybackRate = speed;
    el.playbackRate = speed;
    el.volume = $("p-volume").value / 100;
  }));
  const now = () => (playing && main.track && !counting ? active(main).currentTime + main.track.at : at);
  const cueLoop = () => {
    if (loop) { slots().forEach((each) => cue(waiting(each), each, Math.max(loop[0], each.track.at))); }
  };

  const stop = () => {
    at = now();
    playing = false;
    turn += 1;
    if (counting) { counting.forEach((each) => each.stop()); counting = null; }
    [main, beside].forEach((each) => each.els.forEach((el) => el.pause()));
    $("p-play").setAttribute("aria-pressed", "false");
    $("p-play").textContent = "Play";
    light();
  };
  const play = (time) => {
    stop();
    if (!track) { say("Nothing of this part can be heard."); return; }
    if (track.free) { time = 0; }
    if (loop && (time < loop[0] - 1e-3 || time >= loop[1] - 1e-3)) { time = loop[0]; }
    if (!holds(track, time)) {
      const first = bars().find((row) => holds(track, row[1]));
      say(`${track.label} does not hold bar ${barAt(time)[0]}${track.bars ? `: it has bars ${track.bars}` : ""}`);
      if (!first) { return; }
      time = first[1];
    }
    if ($("p-count").checked && !track.free) { time = barAt(time)[1]; }
    at = time;
    const mine = ++turn;
    const second = logged(on.part);
    load(main, track);
    load(beside, $("p-both").checked && second !== track ? second : null);
    pace();
    playing = true;
    $("p-play").setAttribute("aria-pressed", "true");
    $("p-play").textContent = "Stop";
    slots().forEach((each) => cue(active(each), each, time));
    cueLoop();
    const begin = () => {
      if (mine !== turn) { return; }
      counting = null;
      slots().forEach((each) => active(each).play().catch((error) => {
        if (error.name !== "AbortError") { stop(); say(`This cannot be played: ${error.message}`); }
      }));
      tick();
    };
    Promise.all(slots().map((each) => ready(active(each)))).then((found) => {
      if (mine !== turn) { return; }
      if (!found[0]) { stop(); say(`The file of ${track.label} is not beside the page any more.`); return; }
      countIn(time, begin);
    });
    light();
  };

  // A bar of clicks, soft and short; a pick-up is counted up to where it begins

  const countIn = (time, begin) => {
    const here = barAt(time), next = bars()[indexAt(time) + 1] || here;
    const pickup = here[0] === 0;
    const beats = pickup ? 2 * next[2] - here[2] : here[2];
    if (!$("p-count").checked || track.free || !here[3]) { begin(); return; }
    context = context || new AudioContext();
    context.resume();
    const beat = here[3] / speed, first = context.currentTime + 0.08;
    const a_bar = pickup ? next[2] : here[2];
    counting = [];
    for (let number = 0; number < beats; number += 1) {
      const start = first + number * beat, tone = context.createOscillator(), gain = context.createGain();
      const peak = 0.3 * ($("p-click").value / 100) * (number % a_bar ? 0.7 : 1);
      tone.frequency.value = number % a_bar ? 900 : 1200;
      gain.gain.setValueAtTime(0, start);
      gain.gain.linearRampToValueAtTime(peak, start + 0.003);
      gain.gain.exponentialRampToValueAtTime(1e-4, start + 0.04);
      tone.connect(gain).connect(context.destination);
      tone.start(start);
      tone.stop(start + 0.05);
      counting.push(tone);
    }
    $("p-where").textContent = `count of ${beats}`;
    setTimeout(begin, (0.08 + beats * beat - lead) * 1000);
  };

  // While it plays: the loop's end, the two together, the lit bar

  let swapping = 0;
  const swap = () => {
    const mine = turn;
    swapping = 0;
    if (!playing || !loop || counting) { return; }
    const begun = performance.now();
    slots().forEach((each) => {
      const old = active(each), fresh = waiting(each), from = fresh.currentTime;
      fresh.playbackRate = speed;
      fresh.play().catch(() => {});
      each.now = 1 - each.now;
      setTimeout(() => {
        old.pause();
        if (mine === turn && loop && each.track) { cue(old, each, Math.max(loop[0], each.track.at)); }
      }, lead * 1000);
      if (each === main) {
        const watch = () => {
          if (mine !== turn || active(main) !== fresh) { return; }
          const moved = fresh.currentTime - from;
          if (moved <= 0) { setTimeout(watch, 2); return; }
          const late = (performance.now() - begun) / 1000 - moved / speed;
          lead = clamp(0.7 * lead + 0.3 * late, 0, 0.03);
        };
        setTimeout(watch, 2);
      }
    });
    light();
  };
  const tick = () => {
    if (!playing || counting) { return; }
    const time = now();
    if (loop && !swapping) {
      const left = (loop[1] - time) / speed - lead;
      if (left <= 0.001) { swap(); }
      else if (left < 0.12) { swapping = setTimeout(swap, left * 1000); }
    }
    if (beside.track && !active(beside).paused && !active(beside).seeking) {
      const apart = active(beside).currentTime + beside.track.at - now();
      if (Math.abs(apart) > 0.05) { active(beside).currentTime -= apart; }
    }
    light();
  };
  setInterval(tick, 25);
  main.els.forEach((el) => el.addEventListener("ended", () => {
    if (el !== active(main) || !playing) { return; }
    if (loop) { swap(); } else { stop(); }
  }));

  // Light

  const rootOf = (each) => [...document.querySelectorAll("section[data-part]")].find(
    (root) => root.dataset.part === each.part.name && root.dataset.version === each.version.name);
  let lit = [];
  let shown = "";
  const barItems = () => {
    const root = rootOf(on);
    return [...(root ? root.querySelectorAll("li[data-bars], rect.bar") : []), ...$("s-pages").querySelectorAll("li[data-bars]")];
  };
  const has = (item, bar) => item.dataset.bars.split(" ").includes(String(bar));
  const light = () => {
    const time = now(), row = barAt(time), free = track && track.free;
    const beat = row[3] ? Math.min(Math.floor((time - row[1]) / row[3] + 1e-3) + 1, row[2]) : 1;
    const section = sectionAt(row[0]);
    if (!counting) {
      $("p-where").textContent = free ? `${time.toFixed(1)} s` : `bar ${row[0]}.${beat}${section ? `, ${section[0]}` : ""}`;
    }
    deck.dataset.bar = row[0];
    deck.dataset.time = time.toFixed(3);
    const key = `${parts.indexOf(on)} ${row[0]} ${playing} ${staged} ${free}`;
    const piece = on.part.pieces.find((each) => each[1] <= time + 1e-4 && time < each[2] - 1e-4);
    const mark = `${key} ${piece ? piece[0] : ""}`;
    if (mark === shown) { return; }
    shown = mark;
    lit.forEach((each) => { each.classList.remove("sounding"); each.removeAttribute("aria-current"); });
    lit = free ? [] : barItems().filter((item) => has(item, row[0]));
    lit.forEach((each) => { each.classList.toggle("sounding", playing); each.setAttribute("aria-current", "true"); });
    rove(lit.find((each) => each.tagName === "LI"));
    $("p-section").value = section ? section[1] : "";
    if (row[3]) { $("p-bpm").value = Math.round(60 / row[3] * speed); }
    document.querySelectorAll("rect.run").forEach((run) => {
      const root = run.closest("section[data-part]");
      const hot = playing && piece && root === rootOf(on) && run.dataset.bars === piece[0] && track && ["finished", "comp"].includes(track.kind);
      run.classList.toggle("sounding", Boolean(hot));
    });
    if (staged && lit.length) { follow(lit[lit.length - 1]); }
    else if (playing) { lit.forEach((each) => { if (each.getClientRects().length) { each.scrollIntoView({ block: "nearest" }); } }); }
  };
  const rove = (item) => {
    const button = item && item.querySelector("button.go");
    if (!button) { return; }
    const root = item.closest("section[data-part]");
    const focused = document.activeElement && document.activeElement.classList.contains("go");
    root.querySelectorAll("button.go").forEach((each) => { each.tabIndex = -1; });
    button.tabIndex = 0;
    if (focused && document.activeElement !== button) { button.focus({ preventScroll: true }); }
  };

  // Choosing

  const choosePart = (each, keep) => {
    if (each === on && track) { return; }
    if (playing && !keep) { stop(); }
    on = each;
    $("p-part").value = parts.indexOf(each);
    const list = $("p-track");
    list.replaceChildren(...each.part.tracks.map((one, number) => create("option",
      [one.label, one.bars && `bars ${one.bars}`, one.said].filter(Boolean).join(", ").slice(0, 80), { value: number })));
    track = each.part.tracks[0] || null;
    const chords = Object.keys(each.part.chords.at || {});
    $("p-chord").replaceChildren(...chords.map((name) => create("option", name, { value: name })));
    $("p-section").replaceChildren(...on.version.sections.map(([name, first, last]) => create("option", `${name}, ${first}–${last}`, { value: first })));
    $("p-hear").disabled = !chords.length;
    $("p-both").disabled = !logged(each.part);
    setLoop(null);
    at = bars()[0][1];
    range();
    drawStage();
    light();
  };
  const chooseTrack = (number) => {
    const wanted = on.part.tracks[number];
    if (!wanted || wanted === track) { return; }
    const time = now(), was = playing;
    stop();
    track = wanted;
    $("p-track").value = number;
    range();
    say(`${wanted.label}${wanted.said ? `: ${wanted.said}` : ""}`);
    at = time;
    if (was) { play(time); } else { light(); }
  };
  // What is plucked here can be played at any tempo, a recording at half to full speed.
  const range = () => {
    const any = track && track.kind === "logged";
    $("p-speed").min = any ? 25 : 50;
    $("p-speed").max = any ? 200 : 100;
    setSpeed(speed);
  };
  const setSpeed = (wanted) => {
    const box = $("p-speed");
    speed = clamp(wanted, box.min / 100, box.max / 100);
    box.value = Math.round(speed * 100);
    $("p-percent").textContent = `${Math.round(speed * 100)} %`;
    if (swapping) { clearTimeout(swapping); swapping = 0; }
    pace();
    shown = "";
    light();
  };
  const setLoop = (first, last) => {
    loop = null;
    loopBars = null;
    if (swapping) { clearTimeout(swapping); swapping = 0; }
    if (first !== null && startOf(first) !== null && startOf(last) !== null) {
      loopBars = [Math.min(first, last), Math.max(first, last)];
      loop = [startOf(loopBars[0]), endOf(loopBars[1])];
      $("p-from").value = loopBars[0];
      $("p-to").value = loopBars[1];
      say(`Loop: ${loopBars[0] === loopBars[1] ? "bar" : "bars"} ${loopBars[0] === loopBars[1] ? loopBars[0] : loopBars.join("–")}`);
    }
    $("p-loop").setAttribute("aria-pressed", String(Boolean(loop)));
    barItems().forEach((item) => item.classList.toggle("looped", Boolean(loopBars) &&
      item.dataset.bars.split(" ").some((bar) => bar >= loopBars[0] && bar <= loopBars[1])));
    if (loop && playing && (now() < loop[0] - 1e-3 || now() > loop[1])) { play(loop[0]); }
    else if (playing && main.track) { cueLoop(); }
  };
  const loopHere = () => {
    if (loop) { setLoop(null); say("Loop off"); return; }
    const from = parseInt($("p-from").value, 10), to = parseInt($("p-to").value, 10);
    const bar = barAt(now())[0], section = sectionAt(bar);
    if (!Number.isNaN(from) && !Number.isNaN(to) && bar >= from && bar <= to) { setLoop(from, to); }
    else if (section) { setLoop(section[1], section[2]); }
    else { setLoop(bar, bar); }
  };
  const go = (time) => {
    if (playing) { play(time); } else { at = time; light(); }
    const row = barAt(time);
    if (!playing) { say(`bar ${row[0]}`); }
  };
  const step = (by) => go(bars()[clamp(indexAt(now()) + by, 0, bars().length - 1)][1]);
  const stepSection = (by) => {
    const time = now(), starts = on.version.sections.map((each) => startOf(each[1])).filter((each) => each !== null);
    const found = by > 0 ? starts.find((each) => each > time + 1e-3) : starts.filter((each) => each < time - 0.5).pop();
    if (found !== undefined) { go(found); }
  };
  const stepPiece = (by) => {
    const time = now(), starts = on.part.pieces.map((each) => each[1]);
    const found = by > 0 ? starts.find((each) => each > time + 1e-3) : starts.filter((each) => each < time - 0.5).pop();
    if (found === undefined) { return; }
    const piece = on.part.pieces.find((each) => each[1] === found);
    go(found);
    say(`bars ${piece[0]}: ${/^\d/.test(piece[3]) ? "take " : ""}${piece[3]}`);
  };
  const chordEl = document.createElement("audio");
  let chordStops = 0;
  const hearChord = (each, name) => {
    const chords = each.part.chords, span = (chords.at || {})[name];
    if (!span) { say(`${name} cannot be played`); return; }
    if (playing) { stop(); }
    clearTimeout(chordStops);
    chordEl.pause();
    if (!chordEl.src) { deck.append(chordEl); chordEl.hidden = true; chordEl.id = "p-chord-sound"; }
    if (chordEl.getAttribute("src") !== chords.src) { chordEl.src = chords.src; }
    chordEl.volume = $("p-volume").value / 100;
    chordEl.currentTime = span[0];
    ready(chordEl).then(() => chordEl.play()).then(() => {
      chordStops = setTimeout(() => chordEl.pause(), (span[1] - span[0]) * 1000);
    }).catch(() => {});
    say(name);
  };

  // The paper: bars, sections, pieces of the comp and chords are to be clicked

  const looping = (mine, name, first, last) => {
    const round = create("button", "Loop", { type: "button", class: "small", "aria-label": `Loop ${name}` });
    round.addEventListener("click", () => { choosePart(mine); setLoop(first, last || first); play(startOf(first) || 0); });
    return round;
  };
  const ofPart = (node) => {
    const root = node.closest("section[data-part]");
    return root && parts.find((each) => rootOf(each) === root);
  };
  document.querySelectorAll("section[data-part]").forEach((root) => {
    const mine = parts.find((each) => rootOf(each) === root);
    if (!mine) { return; }
    root.classList.add("playing");
    root.querySelectorAll("li[data-bars]").forEach((item, number) => {
      const text = item.querySelector(".number");
      const button = create("button", "", { type: "button", class: "go", tabindex: number ? -1 : 0 });
      button.setAttribute("aria-label", `Play from bar ${item.dataset.bars.split(" ").join(" or ")}`);
      button.textContent = text.textContent.replace("bar ", "");
      text.replaceChildren(button);
    });
    root.querySelectorAll(".part-of-form").forEach((section) => {
      const mark = section.querySelector(".mark"), [first, last] = section.dataset.passes.split(" ")[0].split("-").map(Number);
      const name = mark.querySelector("b").textContent;
      const from = create("button", "Play", { type: "button", class: "small", "aria-label": `Play ${name}` });
      from.addEventListener("click", () => { choosePart(mine); setLoop(null); play(startOf(first) || 0); });
      mark.append(from, looping(mine, name, first, last));
    });
    root.querySelectorAll("[data-loop]").forEach((item) => {
      item.append(" ", looping(mine, `bars ${item.dataset.loop}`, ...item.dataset.loop.split("-").map(Number)));
    });
    root.querySelectorAll("[data-label]").forEach((card) => {
      if (!(mine.part.chords.at || {})[card.dataset.label]) { return; }
      const hear = create("button", "Hear", { type: "button", class: "small", "aria-label": `Hear ${card.dataset.label}` });
      hear.addEventListener("click", () => { choosePart(mine); $("p-chord").value = card.dataset.label; hearChord(mine, card.dataset.label); });
      card.querySelector(".name, .diagram").after(hear);
    });
  });
  const under = (event, wanted) => document.elementsFromPoint(event.clientX, event.clientY).find((each) => each.matches(wanted));
  document.addEventListener("click", (event) => {
    const target = event.target, mine = target.closest && ofPart(target);
    if (!mine || target.closest("a, summary, input, select, button:not(.go)")) { return; }
    const head = under(event, "rect.section"), item = target.closest("li[data-bars], rect.bar") || under(event, "rect.bar"), run = under(event, "rect.run"), take = under(event, "[data-take][data-from]");
    if (head) {
      choosePart(mine);
      setLoop(null);
      play(startOf(parseInt(head.dataset.passes, 10)) || 0);
    } else if (item) {
      choosePart(mine);
      const passes = item.dataset.bars.split(" ").map(Number);
      const bar = (playing || at > 0) && passes.find((each) => startOf(each) >= now() - 1e-3) || passes[0];
      if (event.shiftKey && markedFrom !== null) { setLoop(markedFrom, bar); }
      markedFrom = bar;
      if (loop && (startOf(bar) < loop[0] - 1e-3 || startOf(bar) >= loop[1] - 1e-3)) { setLoop(null); }
      play(startOf(bar));
    } else if (run) {
      choosePart(mine);
      const piece = mine.part.pieces.find((each) => each[0] === run.dataset.bars);
      const number = mine.part.tracks.findIndex((each) => ["finished", "comp"].includes(each.kind));
      if (number >= 0 && !["finished", "comp"].includes(track.kind)) { chooseTrack(number); }
      if (loop) { setLoop(null); }
      if (piece) { play(piece[1]); }
    } else if (take) {
      choosePart(mine);
      const number = mine.part.tracks.findIndex((each) => each.take === take.dataset.take);
      if (number < 0) { say(`take ${take.dataset.take} has no file beside the page`); return; }
      chooseTrack(number);
      if (loop) { setLoop(null); }
      const box = take.getBoundingClientRect(), share = clamp((event.clientX - box.left) / box.width, 0, 0.999);
      play(startOf(Math.floor(Number(take.dataset.from) + share * take.dataset.long + 1e-6)) || 0);
    }
  });

  // The stage: dark, large, in any key, with any capo; names were worked out before

  let staged = false, by = 0, capo = null, shapes = false, awake = null;
  const nameOf = (stage, token) => {
    const [number, count] = Array.isArray(token) ? token : [token, ""];
    const own = capo === null;
    if (!shapes) { return stage.names[number][(by + 24) % 12] + count; }
    if (own && !by) { return stage.shapes[number] + count; }
    return stage.names[number][(by - (own ? stage.capo : capo) + 36) % 12] + count;
  };
  const drawStage = () => {
    const stage = on.part.stage, keys = on.version.keys;
    const fret = capo === null ? stage.capo : capo;
    const capoSaid = capo === null && stage.capoSaid ? stage.capoSaid : fret;
    $("s-title").textContent = `${data.song}, ${on.part.name}`;
    $("s-set").textContent = [keys.length ? `sounds in ${keys[(by + 24) % 12]}` : by ? `${by > 0 ? "+" : "−"}${Math.abs(by)} semitones` : "as recorded",
      stage.strings && (capoSaid ? `capo ${capoSaid}` : "no capo"), shapes ? "shapes" : "what sounds"].filter(Boolean).join(" · ");
    $("s-names").setAttribute("aria-pressed", String(shapes));
    ["s-down", "s-up", "s-names"].forEach((id) => { $(id).hidden = !stage.strings; });
    if (!staged) { return; }
    const pages = [];
    stage.sections.forEach((section) => {
      pages.push(create("h3", section.said ? `${section.name}: ${section.said}` : section.name));
      for (let first = 0; first < section.bars.length; first += 4) {
        const row = create("ol", "", { class: "s-row" });
        section.bars.slice(first, first + 4).forEach(([bar, over, tokens]) => {
          const item = create("li", "", { "data-bars": bar });
          item.append(create("small", `${bar} ${over}`));
          tokens.forEach((token) => item.append(create("span", typeof token === "string" ? token : nameOf(stage, token))));
          row.append(item);
        });
        pages.push(row);
      }
    });
    $("s-pages").replaceChildren(...pages);
    shown = "";
    light();
  };
  const lines = () => [...$("s-pages").children].map((each) => [each.offsetTop, each.offsetTop + each.offsetHeight]);
  const turnPage = (way) => {
    const box = $("s-pages"), top = box.scrollTop, high = box.clientHeight;
    if (way > 0) {
      const cut = lines().findIndex((each) => each[1] > top + high + 1);
      if (cut < 0) { return; }
      const all = [...box.children];
      const heading = cut > 0 && all[cut - 1].tagName === "H3" && lines()[cut - 1][0] > top ? cut - 1 : cut;
      box.scrollTop = Math.max(lines()[heading][0], top + 1);
    } else {
      const all = lines(), goal = all.findIndex((each) => each[0] >= top - high);
      box.scrollTop = goal > 0 ? Math.min(all[goal][0], Math.max(top - 1, 0)) : 0;
    }
  };
  const follow = (item) => {
    const box = $("s-pages"), row = item.closest(".s-row");
    if (row && (row.offsetTop < box.scrollTop || row.offsetTop + row.offsetHeight > box.scrollTop + box.clientHeight)) {
      const before = row.previousElementSibling;
      box.scrollTop = before && before.tagName === "H3" ? before.offsetTop : row.offsetTop;
    }
  };
  const keepAwake = () => {
    if (!navigator.wakeLock) { say("This browser cannot keep the screen awake."); return; }
    navigator.wakeLock.request("screen").then((lock) => { awake = lock; if (!staged) { lock.release(); } },
      () => say("The screen may go dark: the browser does not keep it awake."));
  };
  const setStage = (wanted) => {
    if (staged === wanted) { return; }
    staged = wanted;
    $("stage").hidden = !wanted;
    document.body.classList.toggle("staged", wanted);
    if (wanted) {
      drawStage();
      $("stage").focus();
      keepAwake();
      try { document.documentElement.requestFullscreen()?.catch(() => {}); } catch { /* a window will do */ }
    } else {
      $("s-pages").replaceChildren();
      if (awake) { awake.release(); awake = null; }
      if (document.fullscreenElement) { document.exitFullscreen()?.catch(() => {}); }
      shown = "";
      light();
      $("p-stage").focus();
    }
  };
  document.addEventListener("fullscreenchange", () => { if (!document.fullscreenElement && staged) { setStage(false); } });
  document.addEventListener("visibilitychange", () => { if (staged && !document.hidden) { keepAwake(); } });
  const transpose = (steps) => { by = by + steps > 6 ? by + steps - 12 : by + steps < -5 ? by + steps + 12 : by + steps; drawStage(); };
  const moveCapo = (steps) => { capo = clamp((capo === null ? on.part.stage.capo : capo) + steps, 0, 11); drawStage(); };
  const turnNames = () => { shapes = !shapes; drawStage(); };
  $("s-pages").addEventListener("click", (event) => turnPage(event.clientX < window.innerWidth / 3 ? -1 : 1));

  // Buttons and keys

  const toggle = () => (playing ? stop() : play(now()));
  const press = {
    "p-play": toggle, "p-back": () => step(-1), "p-on": () => step(1), "p-loop": loopHere,
    "p-stage": () => setStage(true), "p-hear": () => hearChord(on, $("p-chord").value),
    "s-low": () => transpose(-1), "s-high": () => transpose(1), "s-down": () => moveCapo(-1),
    "s-up": () => moveCapo(1), "s-names": turnNames, "s-leave": () => setStage(false),
  };
  Object.entries(press).forEach(([id, done]) => $(id).addEventListener("click", done));
  const change = {
    "p-part": (box) => choosePart(parts[box.value]),
    "p-track": (box) => chooseTrack(Number(box.value)),
    "p-bpm": (box) => { const row = barAt(now()); if (row[3] && box.value > 0) { setSpeed(box.value * row[3] / 60); } },
    "p-bar": (box) => { const time = startOf(parseInt(box.value, 10)); if (time === null) { say(`There is no bar ${box.value}`); } else { go(time); } },
    "p-section": (box) => go(startOf(Number(box.value)) || 0),
    "p-both": () => { if (playing) { play(now()); } },
    "p-from": () => fromTo(), "p-to": () => fromTo(),
  };
  const fromTo = () => {
    const from = parseInt($("p-from").value, 10), to = parseInt($("p-to").value, 10);
    if (!Number.isNaN(from) && !Number.isNaN(to)) {
      if (startOf(from) === null || startOf(to) === null) { say(`There are bars ${bars()[0][0]}–${bars()[bars().length - 1][0]}`); }
      else { setLoop(from, to); }
    }
  };
  Object.entries(change).forEach(([id, done]) => $(id).addEventListener("change", (event) => done(event.target)));
  $("p-speed").addEventListener("input", (event) => setSpeed(event.target.value / 100));
  $("p-volume").addEventListener("input", pace);
  const tick_box = (id) => { const box = $(id); if (!box.disabled) { box.checked = !box.checked; box.dispatchEvent(new Event("change")); say(`${box.parentElement.textContent.trim()}: ${box.checked ? "on" : "off"}`); } };
  const page = (way) => (staged ? turnPage(way) : stepSection(way));
  const arrow = (way) => (staged ? turnPage(way) : step(way));
  const keys = {
    " ": toggle, ArrowLeft: () => arrow(-1), ArrowRight: () => arrow(1), PageUp: () => page(-1), PageDown: () => page(1),
    Home: () => go(bars()[0][1]), t: () => nextTrack(1), T: () => nextTrack(-1), l: loopHere,
    "[": () => { const bar = barAt(now())[0]; setLoop(bar, Math.max(bar, loopBars ? loopBars[1] : bar)); },
    "]": () => { const bar = barAt(now())[0]; setLoop(loopBars ? Math.min(loopBars[0], bar) : bar, bar); },
    "-": () => setSpeed(speed - 0.05), "+": () => setSpeed(speed + 0.05), "=": () => setSpeed(speed + 0.05),
    b: () => tick_box("p-both"), c: () => tick_box("p-count"), n: () => stepPiece(1), p: () => stepPiece(-1),
    k: () => hearChord(on, $("p-chord").value), g: () => { $("p-more").open = true; $("p-bar").focus(); },
    s: () => setStage(!staged), "<": () => transpose(-1), ">": () => transpose(1), "{": () => moveCapo(-1),
    "}": () => moveCapo(1), h: turnNames, Escape: () => (staged ? setStage(false) : stop()),
  };
  const nextTrack = (way) => { const all = on.part.tracks.length; if (all) { chooseTrack((on.part.tracks.indexOf(track) + way + all) % all); } };
  document.addEventListener("keydown", (event) => {
    const tag = event.target.tagName;
    if (event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented) { return; }
    if (["INPUT", "SELECT", "TEXTAREA"].includes(tag) && event.key !== "Escape") { return; }
    if (["BUTTON", "SUMMARY", "A"].includes(tag) && [" ", "Enter"].includes(event.key)) { return; }
    let done = keys[event.key] || keys[event.key.toLowerCase()];
    if (staged && ["ArrowUp", "ArrowDown"].includes(event.key)) { done = () => turnPage(event.key === "ArrowUp" ? -1 : 1); }
    if (/^[1-9]$/.test(event.key)) { done = () => chooseTrack(event.key - 1); }
    if (done) { event.preventDefault(); done(); }
  });

  $("p-part").replaceChildren(...parts.map((each, number) => create("option",
    data.versions.length > 1 ? `${each.version.name}, ${each.part.name}` : each.part.name, { value: number })));
  $("p-part").parentElement.hidden = parts.length < 2;
  deck.hidden = false;
  on = null;
  choosePart(parts[0]);
})();
