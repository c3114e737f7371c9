/** How the form looks. A page changes it by the custom properties and parts that docs/form.md names. */

export const STYLE = `
:host { display: block; max-inline-size: 40rem; margin-block: 0 1.5rem; }
.frame { all: initial; display: block; box-sizing: border-box; font: inherit; line-height: 1.5; color-scheme: inherit;
  --ink: var(--repair-enquiry-ink, light-dark(#1c2430, #e9ecf1));
  --paper: var(--repair-enquiry-paper, light-dark(#ffffff, #171c23));
  --field: var(--repair-enquiry-field, light-dark(#ffffff, #10141a));
  --quiet: var(--repair-enquiry-quiet, light-dark(#57616f, #a4afbd));
  --edge: var(--repair-enquiry-edge, light-dark(#7b8490, #76818f));
  --rule: var(--repair-enquiry-rule, light-dark(#d9dde3, #343c48));
  --accent: var(--repair-enquiry-accent, light-dark(#0b5d6b, #6fc6d3));
  --on-accent: var(--repair-enquiry-on-accent, light-dark(#ffffff, #0d1a1d));
  --bad: var(--repair-enquiry-bad, light-dark(#a3231b, #ff9a8f));
  --on-bad: var(--repair-enquiry-on-bad, light-dark(#ffffff, #2b0d0a));
  --caution: var(--repair-enquiry-caution, light-dark(#f9efd6, #3a2f17));
  --radius: var(--repair-enquiry-radius, 6px);
  color: var(--ink); background: var(--paper); border: 1px solid var(--rule); border-radius: var(--radius);
  padding: 1rem; overflow-wrap: anywhere; text-align: start; }
*, *::before, *::after { box-sizing: border-box; }
[hidden] { display: none !important; }
h2 { font-size: 1.3em; line-height: 1.25; margin: 0 0 .6em; }
h2:focus { outline: none; }
p { margin: .3em 0; }
a { color: var(--accent); display: inline-block; padding-block: .15em; }
fieldset { border: 0; margin: 1.2em 0 0; padding: 0; min-inline-size: 0; }
legend { font-weight: 600; padding: 0; margin-block-end: .3em; }
input, textarea, button { font: inherit; color: inherit; }
.field { position: relative; margin-block: .6em; }
.field > label { display: block; margin-block-end: .15em; }
.field > input, textarea { inline-size: 100%; min-block-size: 2.6em; padding: .4em .6em; background: var(--field);
  border: 1px solid var(--edge); border-radius: var(--radius); }
textarea { resize: vertical; display: block; }
::placeholder { color: var(--quiet); opacity: 1; }
[aria-invalid=true]:not([type=checkbox]) { border: 2px solid var(--bad); }
:focus-visible { outline: 2px solid var(--accent); outline-offset: 2px; }
.fault, .told { color: var(--bad); font-weight: 600; }
.told { border-inline-start: 4px solid var(--bad); padding-inline-start: .8em; margin-block: 1em; }
.hint, .quiet { color: var(--quiet); font-size: .93em; }
.hint:empty { display: none; }
ul[role=listbox] { position: absolute; z-index: 9; inset-inline: 0; margin: 2px 0 0; padding: .2em; list-style: none;
  background: var(--field); border: 1px solid var(--edge); border-radius: var(--radius); max-block-size: 19em; overflow-y: auto;
  box-shadow: 0 6px 18px rgb(0 0 0 / .22); }
[role=option] { display: flex; flex-wrap: wrap; gap: 0 .8em; justify-content: space-between; padding: .4em .6em; cursor: pointer;
  border-radius: calc(var(--radius) - 2px); min-block-size: 2.2em; }
[role=option][aria-selected=true] { background: var(--accent); color: var(--on-accent); }
[role=option][aria-selected=true] .quiet { color: inherit; }
.tick { display: flex; gap: .6em; align-items: baseline; padding-block: .3em; min-block-size: 2em; cursor: pointer; }
.tick input { flex: none; inline-size: 1.2em; block-size: 1.2em; margin: 0; accent-color: var(--accent); align-self: start; margin-block-start: .15em; }
.row { border-block-end: 1px solid var(--rule); }
.row:last-child { border: 0; }
.grades { display: flex; flex-wrap: wrap; gap: 0 1.4em; padding-inline-start: 1.8em; padding-block-end: .3em; }
.caution:empty, .alarm:empty { display: none; }
.caution, .alarm { border-radius: var(--radius); padding: .5em .8em; margin-block: .1em .6em; }
.caution { background: var(--caution); font-size: .95em; }
.alarm { background: var(--bad); color: var(--on-bad); font-weight: 600; }
.alarm strong { font-size: 1.15em; }
.price { border: 1px solid var(--rule); border-inline-start: 4px solid var(--accent); border-radius: var(--radius); padding: .7em 1em;
  margin-block: 1.4em .4em; transition: opacity .15s; }
.price[aria-busy=true] { opacity: .4; }
.amount { font-size: 1.55em; line-height: 1.25; font-weight: 700; margin: 0; font-variant-numeric: tabular-nums; }
summary { cursor: pointer; padding-block: .3em; color: var(--accent); }
details ul { margin: .2em 0; padding-inline-start: 1.2em; font-size: .95em; }
details li { margin-block: .3em; }
.trap { position: absolute; inline-size: 1px; block-size: 1px; overflow: hidden; clip-path: inset(50%); }
.unseen { position: absolute; inline-size: 1px; block-size: 1px; margin: 0; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
button { min-block-size: 2.8em; padding: .5em 1.3em; border: 1px solid var(--accent); border-radius: var(--radius); cursor: pointer;
  background: var(--accent); color: var(--on-accent); font-weight: 600; margin-block-start: .8em; }
button.plain { background: none; color: var(--accent); }
button:hover { filter: brightness(1.08); }
button[aria-disabled=true] { cursor: progress; }
.reference { font-size: 1.15em; white-space: nowrap; }
@media (prefers-reduced-motion: reduce) { .price { transition: none; } }
@media (forced-colors: active) { [role=option][aria-selected=true] { forced-color-adjust: none; background: Highlight; color: HighlightText; } }
`;
