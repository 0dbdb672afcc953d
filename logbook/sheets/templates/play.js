// The page plays: recordings beside it, the part as it is logged, plucked note by note, and a
// stage to read from.
// Times are seconds of music; a track begins at its `at`, so its file's time is music time minus
// that. A loop needs two elements: the second waits where the loop begins, so no seek is heard.
(() => {
  "use strict";
  const $ = (id) => document.getElementById(id);
  const all = (wanted, root = document) => [...root.querySelectorAll(wanted)];
  const data = JSON.parse($("play-data").textContent);
  const deck = $("deck");
  const parts = data.versions.flatMap((version) => version.parts.map((part) => ({ version, part })))
    .filter(({ part }) => part.tracks.length || part.stage.sections.length);
  if (!parts.length) { return; }
  const logged = (part) => part.tracks.find((track) => track.notes);
  const clamp = (value, low, high) => Math.min(Math.max(value, low), high);
  const create = (tag, text, more) => {
    const made = document.createElement(tag);
    made.textContent = text || "";
    Object.entries(more || {}).forEach(([name, value]) => made.setAttribute(name, value));
    return made;
  };
  const fill = (id, texts, value = (each, at) => at) => $(id).replaceChildren(
    ...texts.map((each, at) => create("option", each, { value: value(each, at) })));
  const say = (text) => { $("p-said").textContent = text; };

  // What is on: which part, which track, where in the music.
  let on = parts[0], track = null, at = 0, speed = 1, loop = null, loopBars = null;
  let playing = false, turn = 0, lead = 0.012, context = null, counting = false, markedFrom = null;

  // Bars

  const bars = () => on.version.bars;
  const indexAt = (time) => Math.max(bars().findLastIndex((row) => row[1] <= time + 1e-4), 0);
  const barAt = (time) => bars()[indexAt(time)];
  const startOf = (bar) => bars().find((each) => each[0] === bar)?.[1] ?? null;
  const endOf = (bar) => startOf(bar + 1) ?? on.version.end;
  const sectionAt = (bar) => on.version.sections.find((each) => each[1] <= bar && bar <= each[2]);
  const holds = (each, time) => time >= each.at - 1e-3 && time < each.at + each.long - 1e-3;

  // The part as logged is plucked here, so it sounds right at any tempo. A player of it is used
  // like an element with a file. One string: Karplus and Strong, 1983, as the logbook plucks it.

  const audio = () => {
    context = context || new AudioContext();
    context.resume();
    return context;
  };
  const RATE = 24000, sounds = new Map();
  const pluck = (hz, strength) => {
    const key = `${hz} ${strength}`;
    if (!sounds.has(key)) {
      const buffer = audio().createBuffer(1, RATE * (hz ? 5 : 0.06), RATE), out = buffer.getChannelData(0);
      const period = RATE / (hz || 1), delay = Math.floor(period), share = period - delay;
      const loss = 0.001 ** (1 / (hz * 2.2)), bright = hz ? strength : 0.25;
      let noise = 0;
      for (let at = 0; at < out.length; at += 1) {
        if (at < delay) {
          noise += bright * (Math.random() * 2 - 1 - noise);
          out[at] = hz ? noise : noise * Math.exp(-at / (0.012 * RATE));
        } else {
          out[at] = loss * ((1 - share) * out[at - delay] + (at > delay ? share * out[at - delay - 1] : 0));
        }
      }
      sounds.set(key, buffer);
    }
    return sounds.get(key);
  };
  class Plucked {
    paused = true; readyState = 4; notes = []; strokes = []; rate = 1; held = 0; spread = 0.012; loud = 1;
    get currentTime() { return this.paused ? this.held : this.held + Math.max(context.currentTime - this.begun, 0) * this.rate; }
    set currentTime(time) { this.hush(); this.begin(time); }
    get playbackRate() { return this.rate; }
    set playbackRate(rate) {
      if (rate === this.rate) { return; }
      const here = this.currentTime;
      this.rate = rate;
      this.currentTime = here;
    }
    set volume(loud) { this.loud = loud; if (this.out) { this.out.gain.value = loud; } }
    begin(time) {
      this.held = time;
      this.next = this.notes.findIndex((note) => note[0] >= time - 1e-3);
      if (this.paused) { return; }
      this.begun = audio().currentTime + 0.005;
      this.out = context.createGain();
      this.out.gain.value = this.loud;
      this.out.connect(context.destination);
    }
    hush() { if (this.out) { this.out.gain.setTargetAtTime(0, context.currentTime, 0.008); this.out = null; } }
    pause() { this.held = this.currentTime; this.paused = true; this.hush(); }
    async play() { if (this.paused) { this.paused = false; this.begin(this.held); } }
    send(limit) {  // a page out of sight is seldom called, so it sends more ahead
      if (this.paused) { return; }
      const until = Math.min(this.currentTime + (document.hidden ? 1.5 : 0.15) * this.rate, limit);
      for (let note; (note = this.notes[this.next]) && note[0] < until; this.next += 1) {
        const [strength, ...strings] = this.strokes[note[2]];
        strings.forEach((course, order) => course.forEach((hz) => this.string(hz, strength, note, order)));
      }
    }
    string(hz, strength, [start, long], order) {
      const source = context.createBufferSource(), gain = context.createGain();
      const at = this.begun + (start - this.held) / this.rate + order * this.spread;
      const ends = at + (hz ? Math.max(long / this.rate, 0.05) : 0.1);
      source.buffer = pluck(hz, strength);
      gain.gain.setValueAtTime(strength * 0.3, at);
      gain.gain.setTargetAtTime(0, ends, 0.02);
      source.connect(gain).connect(this.out);
      source.start(at);
      source.stop(ends + 0.15);
    }
  }

  // Two elements for each of what sounds: the chosen track, and the part as logged with it

  const slot = () => {
    const files = [0, 1].map(() => deck.appendChild(create("audio", "", { preload: "auto", hidden: "" })));
    return { files, plucked: [new Plucked(), new Plucked()], els: files, now: 0, track: null };
  };
  const main = slot(), beside = slot(), chordPlayer = new Plucked(), clicker = new Plucked();
  chordPlayer.spread = 0.03;
  const slots = () => (beside.track ? [main, beside] : [main]);
  const active = (each) => each.els[each.now];
  const waiting = (each) => each.els[1 - each.now];
  const load = (each, wanted) => {
    if (each.track === wanted) { return; }
    each.els.forEach((el) => el.pause());
    each.els = wanted && wanted.notes ? each.plucked : each.files;
    each.els.forEach((el) => {
      if (wanted && wanted.notes) { Object.assign(el, { notes: wanted.notes, strokes: on.part.strokes }); }
      else if (wanted) { el.src = wanted.src; }
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
    el.defaultPlaybackRate = speed;
    el.playbackRate = speed;
    el.volume = $("p-volume").value / 100;
  }));
  const now = () => (playing && main.track && !counting ? active(main).currentTime + main.track.at : at);
  const cueLoop = () => {
    if (loop) { slots().forEach((each) => cue(waiting(each), each, loop[0])); }
  };

  const showPlay = () => {
    $("p-play").setAttribute("aria-pressed", String(playing));
    $("p-play").textContent = playing ? "Stop" : "Play";
  };
  const stop = () => {
    at = now();
    playing = false;
    turn += 1;
    counting = false;
    clicker.pause();
    [main, beside].forEach((each) => each.els.forEach((el) => el.pause()));
    showPlay();
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
    showPlay();
    slots().forEach((each) => cue(active(each), each, time));
    cueLoop();
    const begin = () => {
      if (mine !== turn) { return; }
      counting = false;
      clicker.pause();
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
    const beat = here[3] / speed, a_bar = pickup ? next[2] : here[2];
    counting = true;
    Object.assign(clicker, {
      held: 0, volume: $("p-click").value / 50, strokes: [[0.75, [1200]], [0.5, [900]]],
      notes: Array.from({ length: beats }, (_, number) => [number * beat, 0.03, number % a_bar ? 1 : 0]),
    });
    clicker.play();
    $("p-where").textContent = `count of ${beats}`;
    setTimeout(begin, (beats * beat - lead) * 1000);
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
      fresh.play().catch(() => {});
      each.now = 1 - each.now;
      setTimeout(() => {
        old.pause();
        if (mine === turn && loop) { cue(old, each, loop[0]); }
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
    tick();
  };
  const tick = () => {
    chordPlayer.send(9);
    clicker.send(99);
    if (!playing || counting) { return; }
    const time = now();
    slots().forEach((each) => { if (each.track.notes) { active(each).send(loop ? loop[1] - 2e-3 : Infinity); } });
    if (track.notes && time > track.long) { stop(); return; }
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
  main.files.forEach((el) => el.addEventListener("ended", () => {
    if (el !== active(main) || !playing) { return; }
    if (loop) { swap(); } else { stop(); }
  }));

  // Light

  const isJoined = (each) => Boolean(each) && ["finished", "comp"].includes(each.kind);
  const rootOf = (each) => all("section[data-part]").find(
    (root) => root.dataset.part === each.part.name && root.dataset.version === each.version.name);
  let lit = [];
  let shown = "";
  const barItems = () => {
    const root = rootOf(on);
    return [...(root ? all("li[data-bars], rect.bar", root) : []), ...all("li[data-bars]", $("s-pages"))];
  };
  const light = () => {
    const time = now(), row = barAt(time), free = track && track.free;
    const beat = row[3] ? Math.min(Math.floor((time - row[1]) / row[3] + 1e-3) + 1, row[2]) : 1;
    const section = sectionAt(row[0]);
    if (!counting) {
      $("p-where").textContent = free ? `${time.toFixed(1)} s` : `bar ${row[0]}.${beat}${section ? `, ${section[0]}` : ""}`;
    }
    const piece = on.part.pieces.find((each) => each[1] <= time + 1e-4 && time < each[2] - 1e-4);
    const mark = `${parts.indexOf(on)} ${row[0]} ${playing} ${staged} ${free} ${piece && piece[0]}`;
    if (mark === shown) { return; }
    shown = mark;
    lit.forEach((each) => { each.classList.remove("sounding"); each.removeAttribute("aria-current"); });
    lit = free ? [] : barItems().filter((item) => item.dataset.bars.split(" ").includes(String(row[0])));
    lit.forEach((each) => { each.classList.toggle("sounding", playing); each.setAttribute("aria-current", "true"); });
    rove(lit.find((each) => each.tagName === "LI"));
    $("p-section").value = section ? section[1] : "";
    if (row[3]) { $("p-bpm").value = Math.round(60 / row[3] * speed); }
    const root = rootOf(on), joined = playing && piece && isJoined(track);
    all("rect.run").forEach((run) => run.classList.toggle("sounding", Boolean(joined && root && root.contains(run) && run.dataset.bars === piece[0])));
    if (staged && lit.length) { follow(lit[lit.length - 1]); }
    else if (playing) { lit.forEach((each) => { if (each.getClientRects().length) { each.scrollIntoView({ block: "nearest" }); } }); }
  };
  const rove = (item) => {
    const button = item && item.querySelector("button.go");
    if (!button) { return; }
    const root = item.closest("section[data-part]");
    const focused = document.activeElement && document.activeElement.classList.contains("go");
    all("button.go", root).forEach((each) => { each.tabIndex = -1; });
    button.tabIndex = 0;
    if (focused && document.activeElement !== button) { button.focus({ preventScroll: true }); }
  };

  // Choosing

  const choosePart = (each) => {
    if (each === on && track) { return; }
    if (playing) { stop(); }
    on = each;
    $("p-part").value = parts.indexOf(each);
    fill("p-track", each.part.tracks.map((one) => [one.label, one.bars && `bars ${one.bars}`, one.said].filter(Boolean).join(", ").slice(0, 80)));
    track = each.part.tracks[0] || null;
    const chords = Object.keys(each.part.chords), sections = on.version.sections;
    fill("p-chord", chords, (name) => name);
    fill("p-section", sections.map(([name, first, last]) => `${name}, ${first}–${last}`), (_, at) => sections[at][1]);
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
    const any = track && track.notes;
    $("p-speed").min = any ? 25 : 50;
    $("p-speed").max = any ? 200 : 100;
    setSpeed(speed);
  };
  const setSpeed = (wanted) => {
    const box = $("p-speed");
    speed = clamp(wanted, box.min / 100, box.max / 100);
    box.value = Math.round(speed * 100);
    $("p-percent").textContent = `${Math.round(speed * 100)} %`;
    clearTimeout(swapping);
    swapping = 0;
    pace();
    shown = "";
    light();
  };
  const setLoop = (first, last) => {
    loop = loopBars = null;
    clearTimeout(swapping);
    swapping = 0;
    if (startOf(first) !== null && startOf(last) !== null) {
      loopBars = [Math.min(first, last), Math.max(first, last)];
      loop = [startOf(loopBars[0]), endOf(loopBars[1])];
      $("p-from").value = loopBars[0];
      $("p-to").value = loopBars[1];
      say(loopBars[0] === loopBars[1] ? `Loop: bar ${loopBars[0]}` : `Loop: bars ${loopBars.join("–")}`);
    }
    $("p-loop").setAttribute("aria-pressed", String(Boolean(loop)));
    barItems().forEach((item) => item.classList.toggle("looped", Boolean(loopBars) &&
      item.dataset.bars.split(" ").some((bar) => bar >= loopBars[0] && bar <= loopBars[1])));
    if (loop && playing && (now() < loop[0] - 1e-3 || now() > loop[1])) { play(loop[0]); }
    else if (playing && main.track) { cueLoop(); }
  };
  const typed = () => [$("p-from").valueAsNumber, $("p-to").valueAsNumber];
  const loopHere = () => {
    if (loop) { setLoop(null); say("Loop off"); return; }
    const [from, to] = typed();
    const bar = barAt(now())[0], section = sectionAt(bar);
    if (bar >= from && bar <= to) { setLoop(from, to); }
    else if (section) { setLoop(section[1], section[2]); }
    else { setLoop(bar, bar); }
  };
  const go = (time) => {
    if (playing) { play(time); } else { at = time; light(); }
    if (!playing) { say(`bar ${barAt(time)[0]}`); }
  };
  const step = (by) => go(bars()[clamp(indexAt(now()) + by, 0, bars().length - 1)][1]);
  const nextOf = (starts, by) => {
    const time = now();
    return by > 0 ? starts.find((each) => each > time + 1e-3) : starts.filter((each) => each < time - 0.5).pop();
  };
  const stepSection = (by) => {
    const found = nextOf(on.version.sections.map((each) => startOf(each[1])).filter((each) => each !== null), by);
    if (found !== undefined) { go(found); }
  };
  const stepPiece = (by) => {
    const found = nextOf(on.part.pieces.map((each) => each[1]), by);
    const piece = on.part.pieces.find((each) => each[1] === found);
    if (!piece) { return; }
    go(found);
    say(`bars ${piece[0]}: ${/^\d/.test(piece[3]) ? "take " : ""}${piece[3]}`);
  };
  const hearChord = (each, name) => {
    if (!(name in each.part.chords)) { return; }
    if (playing) { stop(); }
    chordPlayer.pause();
    Object.assign(chordPlayer, { notes: [[0, 2.5, each.part.chords[name]]], strokes: each.part.strokes, held: 0, volume: $("p-volume").value / 100 });
    chordPlayer.play();
    say(name);
  };

  // The paper: bars, sections, takes, pieces of the comp and chords are to be clicked

  const numberOf = (mine, name) => mine.part.tracks.findIndex((each) => each.take === name);
  const playTake = (mine, name, bar) => {
    choosePart(mine);
    const number = numberOf(mine, name);
    if (number < 0) { say(`take ${name} has no file beside the page`); return; }
    chooseTrack(number);
    if (loop) { setLoop(null); }
    play(bar === null ? now() : startOf(bar) || 0);
  };
  const ofPart = (node) => {
    const root = node.closest("section[data-part]");
    return root && parts.find((each) => rootOf(each) === root);
  };
  all("section[data-part]").forEach((root) => {
    const mine = parts.find((each) => rootOf(each) === root);
    all("button.small", root).forEach((button) => {
      const { hear, takes } = button.dataset;
      button.hidden = !mine || (hear && mine.part.chords[hear] === undefined) || (takes && numberOf(mine, takes) < 0);
    });
    if (!mine) { return; }
    root.classList.add("playing");
    rove(root.querySelector("li[data-bars]"));
  });
  const under = (event, wanted) => document.elementsFromPoint(event.clientX, event.clientY).find((each) => each.matches(wanted));
  document.addEventListener("click", (event) => {
    const target = event.target, mine = target.closest && ofPart(target);
    if (!mine) { return; }
    const button = target.closest("button.small");
    if (button) {
      const { hear, takes, loops, from } = button.dataset;
      const [first, last = first] = (loops || from || "").split("-").map(Number);
      choosePart(mine);
      if (hear) { $("p-chord").value = hear; hearChord(mine, hear); }
      else if (takes) { playTake(mine, takes, null); }
      else { setLoop(loops ? first : null, last); play(startOf(first) || 0); }
      return;
    }
    if (target.closest("a, summary, input, select, button:not(.go)")) { return; }
    const head = under(event, "rect.section"), item = target.closest("li[data-bars], rect.bar") || under(event, "rect.bar"), run = under(event, "rect.run"), take = under(event, "[data-take][data-from], tr[data-take]");
    if (head || item || run) { choosePart(mine); }
    if (head) {
      setLoop(null);
      play(startOf(parseInt(head.dataset.passes, 10)) || 0);
    } else if (item) {
      const passes = item.dataset.bars.split(" ").map(Number);
      const bar = (playing || at > 0) && passes.find((each) => startOf(each) >= now() - 1e-3) || passes[0];
      if (event.shiftKey && markedFrom !== null) { setLoop(markedFrom, bar); }
      markedFrom = bar;
      if (loop && (startOf(bar) < loop[0] - 1e-3 || startOf(bar) >= loop[1] - 1e-3)) { setLoop(null); }
      play(startOf(bar));
    } else if (run) {
      const piece = mine.part.pieces.find((each) => each[0] === run.dataset.bars);
      const number = mine.part.tracks.findIndex(isJoined);
      if (number >= 0 && !isJoined(track)) { chooseTrack(number); }
      if (loop) { setLoop(null); }
      play(piece ? piece[1] : startOf(parseInt(run.dataset.bars, 10)) || 0);
    } else if (take) {
      const box = take.getBoundingClientRect(), share = clamp((event.clientX - box.left) / box.width, 0, 0.999);
      playTake(mine, take.dataset.take, take.dataset.from ? Math.floor(Number(take.dataset.from) + share * take.dataset.long + 1e-6) : null);
    }
  });

  // The stage: dark, large, in any key, with any capo; names were worked out before

  let staged = false, by = 0, capo = null, shapes = false, awake = null;
  const nameOf = (stage, token) => {
    const [number, count = ""] = [].concat(token), down = shapes ? capo ?? stage.capo : 0;
    return (shapes && capo === null && !by ? stage.shapes[number] : stage.names[number][(by - down + 24) % 12]) + count;
  };
  const drawStage = () => {
    const stage = on.part.stage, keys = on.version.keys;
    const capoSaid = capo ?? (stage.capoSaid || stage.capo);
    $("s-title").textContent = `${data.song}, ${on.part.name}`;
    $("s-set").textContent = [keys.length ? `sounds in ${keys[(by + 12) % 12]}` : by ? `${by > 0 ? "+" : "−"}${Math.abs(by)} semitones` : "as recorded",
      stage.strings && (capoSaid ? `capo ${capoSaid}` : "no capo"), shapes ? "shapes" : "what sounds"].filter(Boolean).join(" · ");
    $("s-names").setAttribute("aria-pressed", String(shapes));
    ["s-down", "s-up", "s-names"].forEach((id) => { $(id).hidden = !stage.strings; });
    if (!staged) { return; }
    const lines = [];
    stage.sections.forEach((section) => {
      section.rows.forEach((bars, first) => {
        const line = create("div"), row = create("ol", "", { class: bars[0][0] < 1 ? "s-row up" : "s-row" });
        if (!first) { line.append(create("h3", section.said ? `${section.name}: ${section.said}` : section.name)); }
        bars.forEach(([bar, over, tokens]) => {
          const item = create("li", "", { "data-bars": bar });
          item.append(create("small", `${bar} ${over}`));
          tokens.forEach((token) => item.append(create("span", typeof token === "string" ? token : nameOf(stage, token))));
          row.append(item);
        });
        line.append(row);
        lines.push(line);
      });
    });
    $("s-pages").replaceChildren(...lines);
    shown = "";
    light();
  };
  // Pages turn by whole lines: on to the first that is cut off below, back by what fits above.
  const turnPage = (way) => {
    const box = $("s-pages"), top = box.scrollTop, high = box.clientHeight, lines = [...box.children];
    const goal = way > 0 ? lines.find((each) => each.offsetTop + each.offsetHeight > top + high + 1) : lines.find((each) => each.offsetTop >= top - high);
    if (goal) { box.scrollTop = way > 0 ? Math.max(goal.offsetTop, top + 1) : Math.min(goal.offsetTop, Math.max(top - 1, 0)); }
  };
  const follow = (item) => {
    const box = $("s-pages"), { offsetTop: from, offsetHeight: high } = item.closest("#s-pages > div") || {};
    if (from < box.scrollTop || from + high > box.scrollTop + box.clientHeight) { box.scrollTop = from; }
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
      document.documentElement.requestFullscreen?.()?.catch(() => {});  // a window will do
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
  const transpose = (steps) => { by = (by + steps + 17) % 12 - 5; drawStage(); };
  const moveCapo = (steps) => { capo = clamp((capo ?? on.part.stage.capo) + steps, 0, 11); drawStage(); };
  const turnNames = () => { shapes = !shapes; drawStage(); };
  $("s-pages").addEventListener("click", (event) => turnPage(event.clientX < window.innerWidth / 3 ? -1 : 1));

  // Buttons and keys

  const toggle = () => (playing ? stop() : play(now()));
  const fromTo = () => {
    const [from, to] = typed();
    if (!Number.isNaN(from + to)) {
      if (startOf(from) === null || startOf(to) === null) { say(`There are bars ${bars()[0][0]}–${bars()[bars().length - 1][0]}`); }
      else { setLoop(from, to); }
    }
  };
  const change = {
    "p-part": (box) => choosePart(parts[box.value]),
    "p-track": (box) => chooseTrack(Number(box.value)),
    "p-bpm": (box) => { const row = barAt(now()); if (row[3] && box.value > 0) { setSpeed(box.value * row[3] / 60); } },
    "p-bar": (box) => { const time = startOf(parseInt(box.value, 10)); if (time === null) { say(`There is no bar ${box.value}`); } else { go(time); } },
    "p-section": (box) => go(startOf(Number(box.value)) || 0),
    "p-both": () => { if (playing) { play(now()); } },
    "p-from": fromTo, "p-to": fromTo,
  };
  Object.entries(change).forEach(([id, done]) => $(id).addEventListener("change", (event) => done(event.target)));
  $("p-speed").addEventListener("input", (event) => setSpeed(event.target.value / 100));
  $("p-volume").addEventListener("input", pace);
  const tick_box = (id) => { const box = $(id); box.click(); if (!box.disabled) { say(`${box.parentElement.textContent.trim()}: ${box.checked ? "on" : "off"}`); } };
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
  all("[data-key]").forEach((button) => button.addEventListener("click", () => keys[button.dataset.key]()));
  const nextTrack = (way) => { const all = on.part.tracks.length; if (all) { chooseTrack((on.part.tracks.indexOf(track) + way + all) % all); } };
  document.addEventListener("keydown", (event) => {
    const tag = event.target.tagName;
    if (event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented) { return; }
    if (["INPUT", "SELECT"].includes(tag) && event.key !== "Escape") { return; }
    if (["BUTTON", "SUMMARY", "A"].includes(tag) && [" ", "Enter"].includes(event.key)) { return; }
    let done = keys[event.key] || keys[event.key.toLowerCase()];
    if (staged && ["ArrowUp", "ArrowDown"].includes(event.key)) { done = () => turnPage(event.key === "ArrowUp" ? -1 : 1); }
    if (/^[1-9]$/.test(event.key)) { done = () => chooseTrack(event.key - 1); }
    if (done) { event.preventDefault(); done(); }
  });

  fill("p-part", parts.map((each) => (data.versions.length > 1 ? `${each.version.name}, ${each.part.name}` : each.part.name)));
  $("p-part").parentElement.hidden = parts.length < 2;
  deck.hidden = false;
  on = null;
  choosePart(parts[0]);
})();
