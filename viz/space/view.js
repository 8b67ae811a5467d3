// The view: an orthographic camera round a point, z up, and what stands before it. Lengths across the line of
// sight are true everywhere, as in the still pictures.
const kRadian = Math.PI / 180;
const kDeepest = 0.42; // how much darker foam at the sheet's bottom is than at its top, so that floors tell from tops

// Smooth edges cost a processor that stands in for a graphics card three times as long: then without.
function drawnByProcessor() {
  const gl = document.createElement('canvas').getContext('webgl');
  const told = gl && gl.getExtension('WEBGL_debug_renderer_info');
  return Boolean(told) && /swiftshader|llvmpipe|softpipe|software/i.test(gl.getParameter(told.UNMASKED_RENDERER_WEBGL));
}

class View {
  constructor(canvas, sheet) {
    this.canvas = canvas;
    this.sheet = sheet;
    this.renderer = new THREE.WebGLRenderer({canvas, antialias: !drawnByProcessor()});
    this.renderer.setClearColor(0xf4f6f8);
    this.scene = new THREE.Scene();
    this.camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 0, 20000);
    this.camera.up.set(0, 0, 1);
    this.scene.add(this.camera, new THREE.AmbientLight(0xffffff, 0.62));
    // Fixed to the eye, so that no wall is black whichever way it faces: from the upper left, the right, below.
    for (const [x, y, z, bright] of [[-0.6, 0.9, 1, 0.28], [1, 0.2, 0.7, 0.16], [0, -1, 0.4, 0.17]]) {
      const lamp = new THREE.DirectionalLight(0xffffff, bright);
      lamp.position.set(x, y, z);
      this.camera.add(lamp, lamp.target);
    }
    this.turn = -68; this.height = 50; // degrees: compass of the eye, 0 = from +x; over the horizon
    this.centre = new THREE.Vector3();
    this.span = 100; // mm from the view's lower to its upper edge
    this.steered = false; // since it was fitted
    this.drawn = () => {};
    this.pending = false;
  }

  // A mesh with one colour a point, foam shaded by its depth. `toward` is the way its lean goes.
  solid(mesh, foam, shiny) {
    const geometry = new THREE.BufferGeometry(), {places, colours} = mesh;
    const low = this.sheet.low[2], deep = this.sheet.high[2] - low;
    for (let i = 0; foam && i < places.length; i += 3)
      if (colours[i] === foam[0] && colours[i + 1] === foam[1] && colours[i + 2] === foam[2]) {
        const share = 1 - kDeepest * (1 - Math.min(1, Math.max(0, (places[i + 2] - low) / deep)));
        for (let k = 0; k < 3; ++k) colours[i + k] = Math.round(colours[i + k] * share);
      }
    geometry.setAttribute('position', new THREE.BufferAttribute(places, 3));
    geometry.setAttribute('color', new THREE.BufferAttribute(colours, 3, true));
    geometry.setIndex(new THREE.BufferAttribute(mesh.corners, 1));
    const material = new THREE.MeshPhongMaterial(
      {vertexColors: THREE.VertexColors, flatShading: true, specular: shiny ? 0x303030 : 0, shininess: 25,
       polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1});
    const body = new THREE.Mesh(geometry, material);
    body.marks = mesh.marks;
    return body;
  }

  line(points, colour) {
    const geometry = new THREE.BufferGeometry();
    geometry.setAttribute('position', new THREE.Float32BufferAttribute(points.flat(), 3));
    return new THREE.Line(geometry, new THREE.LineBasicMaterial({color: colour}));
  }

  directions() {
    const t = this.turn * kRadian, h = this.height * kRadian;
    const back = new THREE.Vector3(Math.cos(h) * Math.cos(t), Math.cos(h) * Math.sin(t), Math.sin(h));
    const right = new THREE.Vector3(-Math.sin(t), Math.cos(t), 0);
    return {back, right, up: new THREE.Vector3().crossVectors(back, right)};
  }

  // Puts a box into the view, with `room` of it left over at every side.
  fit(box, turn, height, room = 0.04) {
    this.turn = turn; this.height = height; this.steered = false;
    const {right, up} = this.directions(), low = [1e9, 1e9], high = [-1e9, -1e9];
    for (let corner = 0; corner < 8; ++corner) {
      const p = new THREE.Vector3(...[0, 1, 2].map(k => (corner >> k & 1 ? box.high : box.low)[k]));
      [p.dot(right), p.dot(up)].forEach((v, k) => {
        low[k] = Math.min(low[k], v); high[k] = Math.max(high[k], v);
      });
    }
    this.centre.set(0, 0, 0).addScaledVector(right, (low[0] + high[0]) / 2)
      .addScaledVector(up, (low[1] + high[1]) / 2);
    const middle = new THREE.Vector3(...[0, 1, 2].map(k => (box.low[k] + box.high[k]) / 2)), {back} = this.directions();
    this.centre.addScaledVector(back, middle.dot(back));
    this.span = Math.max(high[1] - low[1], (high[0] - low[0]) / this.aspect()) * (1 + 2 * room);
    this.draw();
  }

  aspect() { return this.canvas.clientWidth / Math.max(1, this.canvas.clientHeight); }
  pixel_mm() { return this.span / Math.max(1, this.canvas.clientHeight); }

  turnBy(turn, height) {
    this.steered = true;
    this.turn += turn;
    this.height = Math.min(89, Math.max(-20, this.height + height));
    this.draw();
  }
  zoomBy(factor) {
    this.steered = true;
    this.span = Math.min(5000, Math.max(1, this.span * factor));
    this.draw();
  }
  moveBy(right_px, up_px) {
    this.steered = true;
    const {right, up} = this.directions(), mm = this.pixel_mm();
    this.centre.addScaledVector(right, -right_px * mm).addScaledVector(up, -up_px * mm);
    this.draw();
  }

  // Soon, once for all that changes until then.
  draw() {
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(() => { this.pending = false; this.drawNow(); });
  }

  drawNow() {
    const width = this.canvas.clientWidth, height = this.canvas.clientHeight;
    if (!width || !height) return;
    this.renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1));
    this.renderer.setSize(width, height, false);
    const half = this.span / 2, wide = half * width / height, {back} = this.directions();
    Object.assign(this.camera, {left: -wide, right: wide, top: half, bottom: -half});
    this.camera.updateProjectionMatrix();
    this.camera.position.copy(this.centre).addScaledVector(back, 10000);
    this.camera.lookAt(this.centre);
    this.renderer.render(this.scene, this.camera);
    this.drawn();
  }

  // Where a place falls, in pixels of the canvas.
  pixelOf(place) {
    const p = new THREE.Vector3(...place).project(this.camera);
    return [(p.x + 1) / 2 * this.canvas.clientWidth, (1 - p.y) / 2 * this.canvas.clientHeight];
  }

  // The mark of what lies under a pixel of the canvas; 0 when nothing.
  markAt(x, y, body) {
    const at = new THREE.Vector2(2 * x / this.canvas.clientWidth - 1, 1 - 2 * y / this.canvas.clientHeight);
    const ray = new THREE.Raycaster();
    ray.setFromCamera(at, this.camera);
    const hit = ray.intersectObject(body)[0];
    return hit ? body.marks[hit.face.a] : 0;
  }
}

// Mouse, fingers and keys. `click` is told of a press that did not travel.
function steer(view, click, keys) {
  const canvas = view.canvas, held = new Map();
  let travelled = 0, apart = 0;
  const spread = () => {
    const [p, q] = [...held.values()];
    return Math.hypot(p.x - q.x, p.y - q.y);
  };
  canvas.addEventListener('pointerdown', e => {
    canvas.setPointerCapture(e.pointerId);
    held.set(e.pointerId, {x: e.clientX, y: e.clientY});
    if (held.size === 1) travelled = 0;
    if (held.size === 2) apart = spread();
  });
  canvas.addEventListener('pointermove', e => {
    const was = held.get(e.pointerId);
    if (!was) return;
    const dx = e.clientX - was.x, dy = e.clientY - was.y;
    travelled += Math.abs(dx) + Math.abs(dy);
    held.set(e.pointerId, {x: e.clientX, y: e.clientY});
    if (held.size === 2) {
      const now = spread();
      view.moveBy(dx / 2, -dy / 2);
      view.zoomBy(apart / Math.max(1, now));
      apart = now;
    } else if (e.shiftKey || e.buttons & 6) view.moveBy(dx, -dy);
    else view.turnBy(-0.4 * dx, 0.4 * dy);
  });
  for (const end of ['pointerup', 'pointercancel'])
    canvas.addEventListener(end, e => {
      const box = canvas.getBoundingClientRect();
      if (end === 'pointerup' && held.size === 1 && travelled < 6) click(e.clientX - box.left, e.clientY - box.top);
      held.delete(e.pointerId);
    });
  canvas.addEventListener('contextmenu', e => e.preventDefault());
  // A page that is scrolled past must not stop at the view.
  canvas.addEventListener('wheel', e => {
    if (document.activeElement !== canvas && !e.ctrlKey) return;
    e.preventDefault();
    view.zoomBy(Math.exp(0.0015 * e.deltaY));
  }, {passive: false});
  canvas.addEventListener('keydown', e => {
    const ways = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1]}, way = ways[e.key];
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    if (way && e.shiftKey) view.moveBy(30 * way[0], 30 * way[1]);
    else if (way) view.turnBy(8 * way[0], 5 * way[1]);
    else if (e.key === '+' || e.key === '=') view.zoomBy(0.85);
    else if (e.key === '-') view.zoomBy(1 / 0.85);
    else if (keys[e.key]) keys[e.key]();
    else return;
    e.preventDefault();
  });
}
