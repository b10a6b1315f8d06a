'use strict';
// Keeps readings on the phone while there is no connection and hands them over once; shows what
// others enter; lets clocks run. Without it every page works by its forms alone.
(() => {
  const body = document.body, job = body.dataset.job || '', person = body.dataset.person || '';
  const panel = document.getElementById('phone'), others = document.getElementById('others');
  const STORE = 'rackwalk readings', SAID = 'rackwalk said', EVERY = 1500, PATIENCE = 8000;
  let cut = false, busy = false, dirty = false, left = '', memory = null;

  const make = (tag, text, parent) => {
    const made = document.createElement(tag);
    made.textContent = text;
    if (parent) parent.append(made);
    return made;
  };

  // What is only on this phone, in the order in which it was typed.
  function kept() {
    if (memory) return memory;
    try { return JSON.parse(localStorage.getItem(STORE) || '[]'); } catch (error) { return []; }
  }
  function keep(items) {
    try {
      localStorage.setItem(STORE, JSON.stringify(items));
      memory = null;
    } catch (error) { memory = items; }
    show();
  }
  const mark = () => [...crypto.getRandomValues(new Uint8Array(12))]
    .map(each => each.toString(16).padStart(2, '0')).join('');

  function show() {
    const items = kept();
    panel.replaceChildren();
    if (left) make('p', left, panel);
    if (cut) make('p', 'No connection. Readings of this place are taken and kept on this phone; all else waits.', panel);
    if (memory && items.length) make('p', 'This browser keeps nothing: stay on this page.', panel);
    if (items.length) {
      make('p', `Only on this phone: ${items.length} reading${items.length > 1 ? 's' : ''}`, panel).className = 'count';
      const list = make('ul', '', panel);
      for (const item of items) shown(item, list);
    }
    panel.hidden = !panel.childElementCount;
    for (const row of document.querySelectorAll('.row[data-key]')) {
      const mine = items.filter(each => each.job === job && each.key === row.dataset.key);
      let note = row.querySelector('.kept');
      if (!note && mine.length) { note = make('small', '', row); note.className = 'kept'; }
      if (note) note.textContent = mine.length ? `On this phone: ${mine.map(each => each.text).join('; ')}` : '';
    }
  }
  function shown(item, list) {
    const at = new Date(item.at).toTimeString().slice(0, 5);
    const where = item.job === job ? '' : ` (job ${item.job})`;
    const whose = item.person === person ? '' : `, ${item.person}; goes over when ${item.person} signs in`;
    const line = make('li', `${item.title}: ${item.text}, ${at}${where}${whose}`, list);
    if (!item.state || item.person !== person) return;
    make('p', item.said, line);
    if (item.state === 'question') button('It is so; keep it', line, () => again(item, true));
    else button('Try again', line, () => again(item, false));
    button('Take it back', line, () => keep(kept().filter(each => each.once !== item.once)));
  }
  function button(text, parent, does) {
    const made = make('button', text, parent);
    made.type = 'button';
    made.addEventListener('click', does);
  }
  function again(item, sure) {
    keep(kept().map(each => each.once === item.once ? {...each, state: '', sure} : each));
    handOver();
  }

  async function ask(path, options = {}) {
    const stop = new AbortController(), timer = setTimeout(() => stop.abort(), PATIENCE);
    try {
      const answer = await fetch(path, {...options, signal: stop.signal, redirect: 'manual',
        headers: {'x-form': body.dataset.form, accept: 'application/json', ...options.headers}});
      if (cut) { cut = false; show(); }
      return answer;
    } catch (error) {
      if (!cut) { cut = true; show(); }
      return null;
    } finally { clearTimeout(timer); }
  }

  // Hands over what waits, job by job, in its order; a mark makes sure that each counts once.
  async function handOver() {
    if (busy || !person) return;
    busy = true;
    let gone = 0;
    try {
      for (;;) {
        const waiting = kept().filter(each => each.person === person && !each.state);
        if (!waiting.length) break;
        const of = waiting[0].job, some = waiting.filter(each => each.job === of).slice(0, 50);
        const answer = await ask(`/jobs/${encodeURIComponent(of)}/kept`, {method: 'POST',
          headers: {'content-type': 'application/json'},
          body: JSON.stringify({now: Date.now(), readings: some})});
        if (!answer) return;
        left = '';
        if (answer.status === 404) { settle(some.map(each => ({once: each.once, state: 'refused', said: 'This job is not here.'}))); continue; }
        if (!answer.ok) {
          left = answer.status === 429 || answer.status >= 500
            ? 'The server is busy; it is tried again.'
            : 'Open this page again, and sign in where it is asked; what is on this phone stays.';
          show();
          return;
        }
        gone += settle((await answer.json()).became);
      }
    } finally { busy = false; }
    if (gone && !dirty && job && !kept().some(each => each.job === job && each.state)) open_job();
  }
  function settle(became) {
    const by = new Map(became.map(each => [each.once, each]));
    let gone = 0;
    keep(kept().flatMap(each => {
      const now = by.get(each.once);
      if (!now) return [each];
      if (now.state === 'question' || now.state === 'refused') return [{...each, state: now.state, said: now.said}];
      gone += 1;
      return [];
    }));
    return gone;
  }
  const open_job = () => location.assign(`/jobs/${encodeURIComponent(job)}`);

  // The value of the fields around a reading, as it is typed.
  function value(of, submitter) {
    if (submitter && submitter.name === 'text') return submitter.value;
    const field = of.querySelector('input[name^="text"], select[name^="text"]');
    const typed = field ? field.value.trim() : '';
    if (!typed) return '';
    const minus = of.querySelector('input[name^="minus"]'), unit = of.querySelector('[name^="unit"]');
    const text = minus && minus.checked && !typed.startsWith('-') ? `-${typed}` : typed;
    const bare = /^([-+]?[\d.,]+)((?: (?:by|at) .+)?)$/.exec(text);
    return bare && unit ? `${bare[1]} ${unit.value}${bare[2]}`.trim() : text;
  }
  function take(form, submitter) {
    const rows = form.dataset.key ? [form] : [...form.querySelectorAll('.row[data-key]')];
    const seen = Number(body.dataset.seen || 0), taken = [];
    for (const row of rows) {
      const text = value(row, submitter);
      if (!text) continue;
      const sure = row.querySelector('input[name^="sure"]');
      taken.push({job, person, key: row.dataset.key, title: row.dataset.title, text, seen,
        at: Date.now(), once: mark(), sure: Boolean(sure && sure.checked), state: '', said: ''});
      for (const field of row.querySelectorAll('input[name^="text"], select[name^="text"]')) field.value = '';
      for (const field of row.querySelectorAll('input[name^="minus"]')) field.checked = false;
    }
    return taken;
  }
  document.addEventListener('submit', event => {
    const form = event.target;
    if ('readings' in form.dataset && job && person) {
      const taken = take(form, event.submitter);
      if (!taken.length && !cut) return;  // the page itself says what is missing
      event.preventDefault();
      dirty = false;
      keep([...kept(), ...taken]);
      handOver();
    } else if (cut && form.method === 'post') {
      event.preventDefault();
      left = 'This needs a connection; nothing of it was sent. Readings of this place can be taken.';
      show();
    } else if (event.submitter && 'leaves' in event.submitter.dataset) {
      if (kept().length && !confirm('Readings are only on this phone. They stay here until you sign in again. Sign out?')) {
        event.preventDefault();
      } else if (window.caches) caches.keys().then(names => names.forEach(name => caches.delete(name)));
    }
  });
  document.addEventListener('input', () => { dirty = true; });

  // What others entered; the page is made anew where nothing was typed into it yet.
  async function look() {
    if (document.visibilityState === 'visible') {
      const answer = await ask(`/jobs/${encodeURIComponent(job)}/since?seen=${body.dataset.seen}`);
      if (answer && answer.ok) {
        const now = await answer.json();
        await handOver();
        if (now.entries > Number(body.dataset.seen) && !busy) moved(now);
      }
    }
    setTimeout(look, EVERY);
  }
  let told = 0;
  function moved(now) {
    if (now.entries === told) return;
    told = now.entries;
    if (!dirty && !document.querySelector('form input[name="sure"], button[name="sure"]')) {
      try { sessionStorage.setItem(SAID, JSON.stringify({job, said: now.said})); } catch (error) { /* it is in the list of steps */ }
      open_job();
      return;
    }
    tell(now.said);
    const link = make('a', 'Show the job as it is now', make('p', '', others));
    link.href = `/jobs/${encodeURIComponent(job)}`;
  }
  function tell(said) {
    if (!others) return;
    others.replaceChildren();
    for (const text of said) make('p', text, others);
    others.hidden = !others.childElementCount;
  }

  const clock = document.getElementById('clock'), started = performance.now();
  function run() {
    const since = Number(body.dataset.elapsed) + (performance.now() - started) / 1000;
    const due = Number(body.dataset.due || 0);
    clock.textContent = time(since) + (due ? due > since ? `, next in ${time(due - since)}` : ', due now' : '');
  }
  function time(seconds) {
    const whole = Math.max(Math.floor(seconds), 0), minutes = Math.floor(whole / 60);
    const rest = String(whole % 60).padStart(2, '0');
    return minutes < 60 ? `${minutes}:${rest}`
      : `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, '0')}:${rest}`;
  }

  if (clock && body.dataset.elapsed) {
    clock.closest('p').hidden = false;
    for (const said of document.querySelectorAll('.clock-said')) said.hidden = true;
    run();
    setInterval(run, 1000);
  }
  try {
    const before = JSON.parse(sessionStorage.getItem(SAID) || 'null');
    sessionStorage.removeItem(SAID);
    if (before && before.job === job) tell(before.said);
  } catch (error) { /* nothing was kept */ }
  if ('serviceWorker' in navigator) navigator.serviceWorker.register('/worker.js').catch(() => { /* then a reload needs a connection */ });
  window.addEventListener('online', () => handOver());
  window.addEventListener('offline', () => { cut = true; show(); });
  window.addEventListener('storage', show);
  show();
  if (job) look(); else handOver();
})();
