// The page about the view: the list of webs, the numbers beside it, the lean, the scale. Every word stands in
// the page already; here it is shown and hidden.
async function showSpace() {
  const part = document.getElementById('space'), live = part && part.querySelector('.space');
  if (!live || !window.DecompressionStream) return;
  const scene = JSON.parse(document.getElementById('space-scene').textContent);
  const canvas = live.querySelector('canvas'), slider = live.querySelector('input[type=range]');
  const tool = live.querySelector('input[type=checkbox]');
  const script = document.createElement('script');
  const [code, skin] = await Promise.all([inflated(bytesIn('three')), meshIn('space-sheet', scene.skin)]);
  script.textContent = new TextDecoder().decode(code);
  document.head.appendChild(script);

  live.hidden = false;
  const view = new View(canvas, scene.sheet); // throws without WebGL: the stills stay
  document.documentElement.classList.add('turns');
  const sheet = view.solid(skin, scene.foam);
  view.scene.add(sheet);
  const webs = new Map(scene.webs.map(web => [web.web, web]));
  let chosen = null;

  async function bodiesOf(web) {
    if (web.bodies) return web.bodies;
    const [foam, cutter] = await Promise.all(
      [meshIn(`space-foam-${web.web}`, web.foam), meshIn(`space-cutter-${web.web}`, web.cutter)]);
    web.rest = foam.places.slice();
    web.lean = foam.lean;
    const bodies = new THREE.Group();
    web.shape = view.solid(foam, scene.foam);
    web.tool = view.solid(cutter, null, true);
    bodies.add(web.shape, web.tool);
    for (const edge of web.edges) bodies.add(view.line(edge, 0x1c2026));
    return web.bodies = bodies;
  }

  function lean(share) {
    if (!chosen || !chosen.lean) return;
    const places = chosen.shape.geometry.attributes.position;
    for (let i = 0; i < chosen.lean.length; ++i) {
      const u = share * chosen.lean[i];
      places.array[3 * i] = chosen.rest[3 * i] + u * chosen.toward[0];
      places.array[3 * i + 1] = chosen.rest[3 * i + 1] + u * chosen.toward[1];
    }
    places.needsUpdate = true;
    view.draw();
  }

  function showTool() {
    if (chosen) chosen.tool.visible = tool.checked;
    view.draw();
  }

  const home = () => chosen ? view.fit(chosen.room, chosen.turn + 14, 31, 0.02)
                            : view.fit(scene.sheet, -68, 50);

  // A web's number, or null for the finished sheet.
  async function choose(number) {
    const web = number === null ? null : webs.get(number), bodies = web && await bodiesOf(web);
    if (chosen) view.scene.remove(chosen.bodies);
    chosen = web;
    sheet.visible = !web;
    if (web) view.scene.add(bodies);
    for (const button of live.querySelectorAll('button[data-web]'))
      button.setAttribute('aria-pressed', String(button.dataset.web === (web ? String(number) : '')));
    for (const facts of live.querySelectorAll('.space-web'))
      facts.hidden = facts.id !== (web ? `space-web-${number}` : 'space-whole');
    live.querySelector('.space-lean').hidden = !web;
    slider.value = 100;
    lean(1);
    showTool();
    home();
  }

  const badges = live.querySelector('.space-badges'), bar = live.querySelector('.space-bar');
  for (const web of scene.webs) {
    const badge = badges.appendChild(document.createElement('button'));
    badge.textContent = web.web;
    badge.tabIndex = -1; // the list beside it has the same for the keyboard
    badge.addEventListener('click', () => choose(web.web));
    web.label = badge;
  }
  view.drawn = () => {
    badges.hidden = Boolean(chosen);
    for (const web of chosen ? [] : scene.webs) {
      const [x, y] = view.pixelOf(web.badge);
      web.label.style.transform = `translate(${x}px,${y}px) translate(-50%,-50%)`;
    }
    const unit_px = scene.unit_mm / view.pixel_mm();
    let length = Math.pow(10, Math.floor(Math.log10(160 / unit_px)));
    length *= [5, 2, 1].find(k => k * length * unit_px <= 160) || 1;
    bar.firstElementChild.style.width = `${length * unit_px}px`;
    bar.lastElementChild.textContent = `${Number(length.toPrecision(3))} ${scene.unit}`;
  };

  steer(view, (x, y) => {
    if (chosen) return;
    const web = view.markAt(x, y, sheet) - 1;
    if (webs.has(web)) choose(web);
  }, {Home: home, Escape: () => choose(null)});
  tool.addEventListener('change', showTool);
  slider.addEventListener('input', () => lean(slider.value / 100));
  document.addEventListener('click', e => {
    const button = e.target.closest('[data-web]');
    if (button) choose(button.dataset.web === '' ? null : Number(button.dataset.web));
  });
  new ResizeObserver(() => view.steered ? view.draw() : home()).observe(canvas);
  canvas.addEventListener('webglcontextlost', () => {
    document.documentElement.classList.remove('turns');
    live.hidden = true;
  });

  home();
  view.drawNow();
  const gl = view.renderer.getContext();
  gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4)); // waits until it is drawn
  window.snagmapSpace = {first_draw_ms: performance.now(), choose, view, sheet, chosen: () => chosen};
}

showSpace().catch(() => {
  const live = document.querySelector('#space .space');
  if (live) live.hidden = true;
  document.documentElement.classList.remove('turns');
});
