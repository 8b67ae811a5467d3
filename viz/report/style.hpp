// Style and script of the report. Contrasts of at least 4.5 to 1 (WCAG 2.1, 1.4.3).
#pragma once

namespace snagmap {

constexpr const char* kReportStyle = R"css(
:root{color-scheme:light}
*{box-sizing:border-box}
body{margin:0;font:16px/1.5 Helvetica,Arial,sans-serif;color:#1c2026;background:#fff}
main,header,footer{max-width:72rem;margin:0 auto;padding:0 1.25rem}
h1{font-size:1.7rem;line-height:1.2;margin:1.4rem 0 .4rem}
h2{font-size:1.25rem;margin:2.2rem 0 .6rem;border-bottom:2px solid #1e6a8a;padding-bottom:.2rem}
h3{font-size:1.05rem;margin:1.4rem 0 .3rem}
a{color:#15506b}
a:focus-visible,button:focus-visible,summary:focus-visible{outline:3px solid #15506b;outline-offset:2px}
.print{display:none}
.setup{display:grid;grid-template-columns:minmax(0,5fr) minmax(0,6fr);gap:1rem 1.5rem;align-items:start}.setup figure{margin:0}
.defs{position:absolute;width:0;height:0}
.plan{display:block;width:100%;height:auto}.plan text{font-family:Helvetica,Arial,sans-serif;font-weight:bold;text-anchor:middle;fill:#1c2026}
.blocks{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(21rem,100%),1fr));gap:.8rem 1.4rem}
article{border-top:1px solid #c9ced4}article h3{margin:.6rem 0 .3rem}article h3 span{font-weight:normal}article figure{margin:.3rem 0}
article:has(figure:target){grid-column:1/-1}article:target h3{background:#fff6cc}
article .where{display:grid;grid-template-columns:minmax(5rem,1fr) 4fr;gap:.8rem;align-items:start}article dl{font-size:.88rem;gap:0 .8rem;grid-template-columns:max-content 1fr;margin:.3rem 0}
.back{margin:.2rem 0;font-size:.92rem}
summary h2{display:inline-block;margin:1rem 0 .3rem}summary{cursor:pointer}
input[type=checkbox]{width:1.3rem;height:1.3rem}
.sign{display:flex;gap:2rem;margin-top:2rem}.sign span{flex:1;border-top:1px solid #1c2026;padding-top:.2rem;font-size:.85rem}
.caution{border:2px solid #b82a10;padding:.3rem .6rem}
figure a{display:block;cursor:zoom-in}figure:target a{cursor:default}
.skip{position:absolute;left:-99rem}.skip:focus{left:1rem;top:1rem;background:#fff;padding:.5rem}
.verdict{border-left:.6rem solid #1e6a8a;background:#eef3f6;padding:.8rem 1rem;font-size:1.15rem;margin:1rem 0}
.verdict.alarm{border-color:#d53214;background:#fdf0ed}
.verdict p{margin:.2rem 0}
table{border-collapse:collapse;width:100%;font-size:.92rem}
caption{text-align:left;padding:.3rem 0;color:#4a515b}
th,td{padding:.35rem .55rem;border-bottom:1px solid #c9ced4;text-align:left;vertical-align:top}
td.n,th.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
thead th{background:#eef0f2}
th button{font:inherit;font-weight:bold;background:none;border:0;padding:0;cursor:pointer;color:inherit;text-decoration:underline dotted}
tr:target td,tr:target th{background:#fff6cc}
.level{font-weight:bold;white-space:nowrap}
.level::before{content:"";display:inline-block;width:.8em;height:.8em;margin-right:.4em;border:1px solid #4a515b}
.snags::before,.tears::before{background:#d53214}.leans::before{background:#e7d159}.firm::before{background:#4e576c}
.snags,.tears{color:#b82a10}
figure{margin:1.2rem 0}
figure img{width:100%;height:auto;border:1px solid #c9ced4}
figcaption{font-size:.92rem;color:#4a515b}
pre{background:#f4f5f7;border:1px solid #d5d9de;padding:.6rem .8rem;overflow-x:auto;font:.85rem/1.45 "DejaVu Sans Mono",Menlo,Consolas,monospace}
.program{background:#f4f5f7;border:1px solid #d5d9de;padding:.4rem .8rem;margin:.5rem 0;font-size:.85rem}
.program code{font-family:"DejaVu Sans Mono",Menlo,Consolas,monospace;white-space:pre-wrap;overflow-wrap:anywhere}
.program .at:target{outline:3px solid #15506b}
mark{background:#fff0a8;color:inherit;font-weight:bold}
.stop{color:#b82a10}small{color:#4a515b;font-size:.85em}
dl{display:grid;grid-template-columns:minmax(9rem,max-content) 1fr;gap:.15rem 1rem}
dt{color:#4a515b}dd{margin:0}
.turn{display:none}.turns .turn{display:inline}.turns #picture-sheet:not(:target){display:none}
.space-grid{display:grid;grid-template-columns:minmax(0,9fr) minmax(0,5fr);gap:1rem}
.space-stage{position:relative;overflow:hidden;border:1px solid #c9ced4;height:32rem}.space-stage canvas{display:block;width:100%;height:100%;touch-action:none;cursor:grab}
.space-stage canvas:focus-visible{outline:3px solid #15506b;outline-offset:-3px}
.space-badges button{position:absolute;left:0;top:0;min-width:1.7rem;height:1.7rem;padding:0 .3rem;border-radius:.85rem;border:2px solid #b82a10;background:#fff;color:#1c2026;font:bold .8rem Helvetica,Arial,sans-serif;cursor:pointer}
.space-bar{position:absolute;left:.8rem;bottom:.6rem;font-size:.8rem;pointer-events:none}.space-bar i{display:block;border:solid #1c2026;border-width:0 2px 2px;height:.4rem}
.space-list{display:flex;flex-wrap:wrap;gap:.35rem}.space-list button{font:inherit;font-size:.9rem;padding:.2rem .55rem;border:1px solid #98a0aa;border-radius:.2rem;background:#fff;color:#1c2026;cursor:pointer}
.space-list button.snags,.space-list button.tears{border-color:#b82a10}.space-list button::before{display:none}.space-list button[aria-pressed=true]{background:#15506b;color:#fff;border-color:#15506b}.space-list button[aria-pressed=true] small{color:#fff}
.space-web h3{margin:.8rem 0 .3rem}.space-web dl{font-size:.88rem;gap:.1rem .8rem;grid-template-columns:max-content 1fr;margin:.3rem 0}.space-web p{margin:.4rem 0}.space-web code{overflow-wrap:anywhere}
.space-lean{margin:.5rem 0}.space-lean label{margin-right:1rem}.space-lean input{vertical-align:middle;accent-color:#15506b}.space-lean input[type=range]{width:9rem}.space-side .plan{max-width:13rem}.space-web h3 span{font-weight:normal}
.space-legend{display:flex;flex-wrap:wrap;gap:.3rem 1.2rem;margin:.5rem 0;font-size:.85rem}.space-legend i{display:inline-block;width:.9em;height:.9em;margin-right:.35em;border:1px solid #4a515b;vertical-align:-.1em}.space-legend i.scale{width:7em;margin:0 .2em}
@media (max-width:40rem){.space-badges button{min-width:1.15rem;height:1.15rem;padding:0 .15rem;font-size:.62rem;border-width:1px}}
@media (max-width:62rem){.space-grid{grid-template-columns:minmax(0,1fr)}.space-stage{height:min(22rem,60vh)}}
@media (max-width:40rem){.setup,article .where{grid-template-columns:1fr}.sign{flex-direction:column}
 figure:target{overflow-x:auto}figure:target img{width:auto;max-width:none}
 dl{grid-template-columns:1fr}dd{margin-bottom:.4rem}h1{font-size:1.35rem}}
/* Too narrow for columns: each row becomes a card, the heads a row of buttons that sort. */
@media screen and (max-width:62rem){
 .cards,.cards tbody,.cards caption{display:block}.cards thead tr{display:flex;flex-wrap:wrap;gap:.2rem .8rem;padding:.4rem;background:#eef0f2}
 .cards thead{display:block}.cards thead th{border:0;padding:.1rem}.cards tbody tr{display:grid;grid-template-columns:repeat(auto-fill,minmax(7.5rem,1fr));border:1px solid #c9ced4;margin:.5rem 0;padding:.3rem}
 .cards tbody td,.cards tbody th{border:0;text-align:left;padding:.15rem .3rem;white-space:normal;overflow-wrap:anywhere}
 .cards tbody td::before,.cards tbody th::before{content:attr(data-h);display:block;font-size:.78rem;font-weight:normal;color:#4a515b}
 .cards tbody td[data-h^="S "],.cards tbody td[data-h^="S,"],.cards tbody td[data-h^="Place"],.cards tbody td[data-h="Evidence"]{grid-column:span 2}
 .cards tbody td[data-h^="What"],.cards tbody td[data-h="Where"]{grid-column:1/-1}}
@page{margin:12mm}
@media print{body{font-size:10.5pt}main,header,footer{max-width:none;padding:0}.skip{display:none}
 table{font-size:8pt}th,td{padding:.15rem .25rem}thead{display:table-header-group}
 tr,figure,.program{break-inside:avoid}.program{font-size:7.5pt;padding:.1rem .4rem;margin:.2rem 0}h2,h3{break-after:avoid}pre{white-space:pre-wrap}a{color:inherit;text-decoration:none}
 h1{font-size:15pt;margin:0 0 2mm}h2{font-size:11.5pt;margin:3mm 0 1mm}h3{font-size:10pt;margin:1mm 0}p,ul{margin:1mm 0}.verdict{font-size:10.5pt;padding:1.5mm 3mm;margin:1mm 0}dl{gap:0 3mm;font-size:9pt}.sign{margin-top:8mm}
 details:not([open]),nav,.back,footer,.space,.turn{display:none}.turns .turn{display:none}.turns #picture-sheet:not(:target){display:block}.blocks{grid-template-columns:1fr 1fr 1fr;gap:1mm 4mm}article{break-inside:avoid}article h3{font-size:8.5pt;margin:1mm 0}article .where{grid-template-columns:1fr 2.6fr;gap:2mm}article dl{font-size:7pt;line-height:1.25;grid-template-columns:max-content 1fr;gap:0 1.5mm}article figure img{width:100%}ul{font-size:9pt}
 th button{display:none}.print{display:inline}figure{margin:.3rem 0}figure img{width:90%}.programs{columns:2}*{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
)css";

/// Makes the heads of the spot table into buttons that sort it; without script the table stands worst first.
constexpr const char* kReportScript = R"js(
(function(){
 function open(){var at=location.hash.length>1&&document.getElementById(decodeURIComponent(location.hash.slice(1)));
  for(var up=at;up;up=up.parentElement)if(up.tagName==='DETAILS')up.open=true;
  if(at)at.scrollIntoView();}
 window.addEventListener('hashchange',open);open();
})();
(function(){
 var table=document.getElementById('spots');if(!table)return;
 var body=table.tBodies[0],heads=table.tHead.rows[0].cells;
 Array.prototype.forEach.call(heads,function(head,column){
  var button=document.createElement('button'),plain=document.createElement('span');
  button.type='button';button.textContent=plain.textContent=head.textContent;plain.className='print';
  head.textContent='';head.appendChild(button);head.appendChild(plain);
  button.addEventListener('click',function(){
   var down=head.getAttribute('aria-sort')==='ascending';
   Array.prototype.forEach.call(heads,function(h){h.removeAttribute('aria-sort');});
   head.setAttribute('aria-sort',down?'descending':'ascending');
   var rows=Array.prototype.slice.call(body.rows);
   rows.sort(function(a,b){
    var p=a.cells[column].getAttribute('data-v'),q=b.cells[column].getAttribute('data-v');
    var d=isNaN(p)||isNaN(q)?String(p).localeCompare(String(q)):p-q;return down?-d:d;});
   rows.forEach(function(row){body.appendChild(row);});
  });
 });
})();
)js";

} // namespace snagmap
