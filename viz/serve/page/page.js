'use strict';
// The page asks and shows; every value it shows comes as JSON and goes into text nodes, never into markup.

const $ = id => document.getElementById(id);

function make(tag, attributes = {}, ...inside) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith('on')) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, '');
    else if (value !== false && value != null) node.setAttribute(name, value);
  }
  node.append(...inside);
  return node;
}

function trouble(words) {
  $('trouble').textContent = words;
  $('trouble').hidden = !words;
  if (words) $('trouble').scrollIntoView({block: 'nearest'});
}

async function ask(address, body) {
  let answer;
  try {
    answer = await fetch(address, body === undefined ? {cache: 'no-store'} :
      {method: 'POST', headers: {'Content-Type': 'application/octet-stream'}, body});
  } catch (gone) {
    throw new Error('snagmap does not answer: is it still running? Start `snagmap serve` again; jobs in line go on.');
  }
  const text = await answer.text();
  let json = null;
  try { json = JSON.parse(text); } catch (plain) { /* a refusal in words */ }
  if (!answer.ok) throw new Error(json && json.fault || (json ? 'it has gone on meanwhile' : text.trim()));
  return json;
}

const guarded = work => async event => {
  if (event && event.preventDefault) event.preventDefault();
  try { trouble(''); await work(event); } catch (error) { trouble(error.message); }
};

// ---- What is asked -----------------------------------------------------------------------------------------------

let chosen = [], tools = [];

function choose(files) {
  chosen = [...files];
  const scene = chosen.some(file => /\.toml$/i.test(file.name));
  $('dropped').textContent = chosen.map(file => file.name).join(', ');
  $('setup').hidden = scene && chosen.length > 1;
  ready();
}

// Neither foam nor cutter is taken for granted: a wrong one makes a wrong answer.
function ready() {
  const scene = chosen.some(file => /\.toml$/i.test(file.name)), foam = $('foam-card').value || picked('foam');
  $('go').disabled = chosen.length === 0 || !(scene || (foam && (tools.length || cutterNow())));
  $('wanting').textContent = !$('go').disabled ? '' : chosen.length === 0 ? 'Drop a program first.' : !foam ? 'Choose the foam.' : 'Choose the cutter.';
}

function swatch(look) {
  const colours = {'soft grey sponge': '#8d949c', 'firm grey sponge': '#6d747d', 'black drawer foam': '#26292e',
    'firm white packing': '#f3f3ef', 'stiff camp mat': '#3d6f7f'};
  const node = make('span', {class: 'swatch', 'aria-hidden': 'true'});
  node.style.background = colours[look] || '#b9bec5';
  return node;
}

// A cutter from the side, 50 mm of it, the flutes dark as in the pictures.
function cutterPicture(card) {
  const space = 'http://www.w3.org/2000/svg', svg = document.createElementNS(space, 'svg');
  svg.setAttribute('viewBox', '-11 0 22 52');
  svg.setAttribute('aria-hidden', 'true');
  const box = (from, to, width, colour) => {
    const part = document.createElementNS(space, 'rect');
    part.setAttribute('x', -width / 2); part.setAttribute('width', width);
    part.setAttribute('y', 51 - Math.min(50, to)); part.setAttribute('height', Math.max(0, Math.min(50, to) - from));
    part.setAttribute('fill', colour);
    svg.append(part);
  };
  const neckEnd = card.flutes + (card.neck > 0 ? card.neck_length : 0);
  box(neckEnd, 50, card.shank, '#c3c8ce');
  if (card.neck > 0) box(card.flutes, neckEnd, card.neck, '#9aa1aa');
  box(0, card.flutes, card.diameter, '#1e6a8a');
  for (let z = 2; z < card.flutes; z += 4) {
    const edge = document.createElementNS(space, 'line');
    edge.setAttribute('x1', -card.diameter / 2); edge.setAttribute('x2', card.diameter / 2);
    edge.setAttribute('y1', 51 - z); edge.setAttribute('y2', 51 - Math.min(card.flutes, z + 2.5));
    edge.setAttribute('stroke', '#dbe8ee'); edge.setAttribute('stroke-width', '.8');
    svg.append(edge);
  }
  return svg;
}

function tile(group, card, picture) {
  return make('label', {class: 'tile'}, make('input', {type: 'radio', name: group, value: card.value}),
    picture, make('span', {}, card.name, make('small', {}, card.words || '')));
}

async function showCards() {
  const cards = await ask('cards');
  const kept = $('foam-card').value;
  if ($('looks').childElementCount === 0) $('looks').replaceChildren(...cards.foams.filter(foam => foam.group === 'look')
    .map(foam => tile('foam', foam, swatch(foam.value))));
  $('foam-card').replaceChildren(make('option', {value: ''}, 'by its look, above'),
    ...cards.foams.filter(foam => foam.group !== 'look')
      .map(foam => make('option', {value: foam.value}, foam.words ? foam.name + ': ' + foam.words : foam.name)));
  $('foam-card').value = kept;
  if ($('cutters').childElementCount === 0)
    $('cutters').replaceChildren(...cards.cutters.map(card => tile('cutter', {...card, words: card.value}, cutterPicture(card))));
}

const picked = name => (document.querySelector('input[name=' + name + ']:checked') || {}).value || '';
const cutterNow = () => $('cutter-size').value.trim() || picked('cutter');

function addTool() {
  const tool = Number($('cutter-tool').value);
  if (!cutterNow()) throw new Error('Choose the cutter first, then its tool number.');
  if (!Number.isInteger(tool) || tool < 1) throw new Error('Which tool? Give the number that stands behind T in the program.');
  tools = tools.filter(one => one.tool !== tool).concat({tool, cutter: cutterNow()}).sort((a, b) => a.tool - b.tool);
  $('cutter-tool').value = '';
  showTools();
}

function showTools() {
  $('tools').replaceChildren(...tools.map(one => make('button', {type: 'button', title: 'Take this tool away',
    onclick: () => { tools = tools.filter(other => other !== one); showTools(); }}, 'T' + one.tool + ' ' + one.cutter + ' \u00d7')), ' ');
  ready();
}

async function submit() {
  const head = {kind: 'preview', files: chosen.map(file => ({name: file.name, bytes: file.size})),
    foam: $('foam-card').value || picked('foam'), cutters: tools.length ? tools : [{tool: 0, cutter: cutterNow()}],
    sheet: {size: ['size-x', 'size-y', 'size-z'].map(id => $(id).value.trim()), zero: $('zero').value,
      zero_on: $('zero-on').value, stands_on: $('stands-on').value},
    hold: {kind: $('hold').value}, quick: $('quick').checked, advise: $('advise').checked};
  if (head.hold.kind === 'tape') head.hold.area = $('area').value.trim();
  if (head.hold.kind === 'vacuum') head.hold.pressure = $('pressure').value.trim();
  await send(head, chosen);
}

async function send(head, files = []) {
  const answer = await ask('jobs', new Blob([JSON.stringify(head) + '\n', ...files]));
  watched.add(answer.id);
  await refresh();
  if (!$('line').hidden) $('line').scrollIntoView();
}

// ---- What is in work and what there is -----------------------------------------------------------------------------

const watched = new Set(), marked = new Set();
let last = '';

function jobItem(job) {
  const running = job.state === 'running', ended = !running && job.state !== 'waiting';
  const item = make('li', {'data-job': job.id, 'data-state': job.state}, make('div', {class: 'head'}, make('h3', {}, job.label),
    make('p', {class: 'hint'}, running ? job.stage + '; ' + job.times : job.words)));
  if (running) item.append(make('progress', {max: 1, value: job.share, 'aria-label': job.stage}));
  if (job.said) item.append(make('pre', {}, job.said));
  item.append(make('p', {class: 'deeds'}, make('button', {type: 'button', class: ended ? '' : 'away', onclick: guarded(async () => {
    await ask('jobs/' + job.id + (ended ? '/forget' : '/cancel'), '');
    await refresh();
  })}, ended ? 'Take off the list' : 'Cancel')));
  return item;
}

const fileAddress = (result, name) =>
  'results/' + encodeURIComponent(result.name) + '/files/' + name.split('/').map(encodeURIComponent).join('/');
const has = (result, name) => result.files.some(file => file.name === name);
const size = bytes => bytes < 1e4 ? bytes + ' B' : bytes < 1e6 ? Math.round(bytes / 1e3) + ' kB' : (bytes / 1e6).toFixed(1) + ' MB';

function resultItem(result) {
  const item = make('li', {'data-result': result.name}, make('div', {class: 'head'}, make('h3', {}, result.label),
    make('p', {class: 'hint'}, result.kind + ', ' + result.name + ', ' + new Date(result.made * 1000).toLocaleString())));
  if (result.verdict) item.append(make('p', {class: 'verdict' + (result.alarm ? ' alarm' : '')}, result.verdict));
  const deeds = make('p', {class: 'deeds'});
  const deed = (words, work, kind) => deeds.append(make('button', {type: 'button', class: kind, onclick: guarded(work)}, words));
  const page = has(result, 'report.html') ? 'report.html' : has(result, 'sheet.html') ? 'sheet.html' : '';
  if (page) deed('Open', () => show(result, page));
  else if (has(result, 'compare.png')) deed('Open', () => show(result, 'compare.png'));
  else if (has(result, 'fit.txt')) deed('Open', () => show(result, 'fit.txt'));
  if (result.command.startsWith('preview') && result.scene) {
    deeds.append(make('label', {}, make('input', {type: 'checkbox', checked: marked.has(result.name), onchange: event => {
      marked[event.target.checked ? 'add' : 'delete'](result.name);
      $('pick').hidden = marked.size !== 2;
    }}), ' compare'));
    deed('Test piece', () => send({kind: 'coupon', of: [result.name]}));
  }
  if (has(result, 'walls.toml')) deed('Enter what it showed', () => showWalls(result));
  deed('Delete', async () => {
    if (!confirm('Delete ' + result.label + '? What snagmap did not write stays.')) return;
    const answer = await ask('results/' + encodeURIComponent(result.name) + '/delete', '');
    marked.delete(result.name);
    await refresh();
    if (answer.stays.length) trouble('These are not snagmap\u2019s, or were changed, and stay: ' + answer.stays.join(', '));
  }, 'away');
  item.append(deeds, make('details', {}, make('summary', {}, 'Files to save (' + result.files.length + ')'),
    make('ul', {class: 'files'}, ...result.files.map(file =>
      make('li', {}, make('a', {href: fileAddress(result, file.name) + '?save', download: true}, file.name), ' ' + size(file.bytes))))));
  return item;
}

function openHead(title, result, page) {
  const close = make('button', {type: 'button', onclick: () => { $('shown').hidden = true; $('shown').replaceChildren(); }}, 'Close');
  const deeds = make('p', {class: 'deeds'}, close);
  if (page) deeds.append(make('a', {href: fileAddress(result, page), target: '_blank', rel: 'noopener'}, 'in a tab of its own, to print'));
  return [make('h2', {tabindex: '-1'}, title), deeds];
}

const frame = (result, page) => make('iframe', {src: fileAddress(result, page), sandbox: 'allow-scripts', title: result.label + ', ' + page});

function place(...nodes) {
  $('shown').replaceChildren(...nodes);
  $('shown').hidden = false;
  $('shown').querySelector('h2').focus();
  $('shown').scrollIntoView();
}

function show(result, page) {
  const nodes = openHead(result.label, result, page);
  if (result.verdict && page !== 'report.html') nodes.push(make('p', {class: 'verdict' + (result.alarm ? ' alarm' : '')}, result.verdict));
  if (page === 'compare.png') {
    nodes.push(make('div', {class: 'frames'}, make('img', {src: fileAddress(result, page), alt: 'The sheets side by side'})));
    const two = (result.of || []).map(name => results.find(one => one.name === name)).filter(one => one && has(one, 'report.html'));
    nodes.push(make('div', {class: 'frames two'}, ...two.map(one => frame(one, 'report.html'))));
  } else {
    nodes.push(make('div', {class: 'frames'}, frame(result, page)));
  }
  place(...nodes);
}

async function showWalls(result) {
  const piece = await ask('results/' + encodeURIComponent(result.name) + '/walls');
  const widest = Math.max(...piece.walls.map(wall => wall.w)), outcomes = new Map();
  const nodes = openHead('What the test piece showed', result, 'sheet.html');
  nodes.push(make('p', {}, piece.foam + '. After ten minutes of rest, tap for each wall: held is whole, marked is bitten but standing, torn is torn anywhere. What you do not tap is passed over.'));
  if (has(result, 'drawing.png')) nodes.push(make('div', {class: 'frames'}, make('img', {src: fileAddress(result, 'drawing.png'), alt: 'Plan of the test piece, walls numbered'})));
  const walls = make('div', {class: 'walls'}, ...piece.walls.map(wall => {
    const bar = make('span', {class: 'bar', 'aria-hidden': 'true'});
    bar.style.width = (100 * wall.w / widest) + '%';
    const set = make('fieldset', {}, make('legend', {}, 'Wall ' + wall.wall + ', ' + wall.w.toFixed(2) + ' mm, ' + wall.cutter), bar);
    for (const outcome of ['held', 'marked', 'torn'])
      set.append(make('label', {}, make('input', {type: 'radio', name: 'wall-' + wall.wall, value: outcome, onchange: () => {
        outcomes.set(wall.wall, outcome); set.className = outcome;
      }}), ' ' + outcome));
    return set;
  }));
  const go = make('button', {type: 'button', onclick: guarded(() => send({kind: 'fit', of: [result.name],
    walls: piece.walls.map(wall => ({wall: wall.wall, outcome: outcomes.get(wall.wall) || ''}))}))}, 'Make the foam card');
  place(...nodes, walls, make('p', {class: 'deeds'}, go));
}

let results = [], shownCards = '';

async function refresh() {
  const state = await ask('state'), text = JSON.stringify(state);
  if (text === last) return;
  last = text;
  results = state.results;
  $('line').hidden = state.jobs.length === 0;
  $('jobs').replaceChildren(...state.jobs.map(jobItem));
  if (JSON.stringify(results) !== $('results').told) {
    $('results').told = JSON.stringify(results);
    $('results').replaceChildren(...results.map(resultItem));
    $('none').hidden = results.length > 0;
    $('pick').hidden = marked.size !== 2;
  }
  const own = results.filter(result => has(result, 'own-foam.toml')).map(result => result.name).join();
  if (own !== shownCards) { shownCards = own; await showCards(); }
  for (const result of results)
    if (watched.delete(result.name)) {
      const page = ['report.html', 'sheet.html', 'compare.png', 'fit.txt'].find(name => has(result, name));
      if (page) show(result, page);
    }
}

async function keepFresh() {
  for (;;) {
    try {
      if (!document.hidden) await refresh();
      if ($('trouble').gone) { $('trouble').gone = false; trouble(''); }
    } catch (error) { trouble(error.message); $('trouble').gone = true; }
    await new Promise(done => setTimeout(done, 700));
  }
}

// ---- Begin ----------------------------------------------------------------------------------------------------------

$('files').addEventListener('change', event => choose(event.target.files));
for (const kind of ['dragenter', 'dragover', 'dragleave', 'drop'])
  document.addEventListener(kind, event => {
    event.preventDefault();
    $('drop').classList.toggle('over', kind === 'dragenter' || kind === 'dragover');
    if (kind === 'drop' && event.dataTransfer.files.length) choose(event.dataTransfer.files);
  });
$('hold').addEventListener('change', () => {
  $('area-label').hidden = $('hold').value !== 'tape';
  $('pressure-label').hidden = $('hold').value !== 'vacuum';
});
$('cutters').addEventListener('change', () => { $('cutter-size').value = ''; });
$('looks').addEventListener('change', () => { $('foam-card').value = ''; });
for (const kind of ['change', 'input']) $('ask').addEventListener(kind, ready);
$('add-tool').addEventListener('click', guarded(addTool));
$('compare').addEventListener('click', guarded(async () => { await send({kind: 'compare', of: [...marked]}); marked.clear(); last = ''; $('results').told = ''; await refresh(); }));
$('ask').addEventListener('submit', guarded(submit));
ready();
guarded(showCards)().then(keepFresh);
