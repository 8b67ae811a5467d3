// The report in a browser: headless Chromium lays it out at three widths and says what it finds.
#include "viz/report/report.hpp"

#include "sim/text/whole_file.hpp"
#include "tests/viz/preview_fixture.hpp"
#include "viz/draw/raster.hpp"
#include "viz/pictures/pictures.hpp"

#include <nlohmann/json.hpp>

#include <cstdio>
#include <filesystem>
#include <regex>

#include <unistd.h>

using namespace snagmap;
namespace fs = std::filesystem;

namespace {

std::string output_of(const std::string& command) {
  std::string out;
  std::FILE* const pipe = popen(command.c_str(), "r");
  char bytes[4096];
  while (const std::size_t n = std::fread(bytes, 1, sizeof bytes, pipe))
    out.append(bytes, n);
  pclose(pipe);
  return out;
}

/// Asks the page about itself once it is laid out; the answer stands in the document's title.
constexpr const char* kProbe = R"js(<script>
window.addEventListener('load',function(){
 [].forEach.call(document.querySelectorAll('details'),function(d){d.open=true;});
 var r={errors:window.probeErrors,width:innerWidth,page:document.documentElement.scrollWidth};
 r.headings=[].map.call(document.querySelectorAll('h1,h2,h3'),function(h){return +h.tagName[1];});
 r.noAlt=[].filter.call(document.images,function(i){return i.alt.length<20||!i.naturalWidth;}).length;
 r.images=document.images.length;
 r.deadLinks=[].filter.call(document.querySelectorAll('a[href^="#"]'),function(a){return !document.getElementById(a.getAttribute('href').slice(1));}).length;
 r.links=document.querySelectorAll('#spots a').length;
 r.outside=document.querySelectorAll('[src^="http"],link[href^="http"],script[src]').length;
 var column=function(){return [].map.call(document.querySelectorAll('#spots tbody tr'),function(t){return +t.cells[3].getAttribute('data-v');});};
 r.before=column();
 var button=document.querySelectorAll('#spots th button')[3];button.focus();r.focused=document.activeElement===button;
 button.click();r.up=column();r.sorted=button.parentNode.getAttribute('aria-sort');
 button.click();r.down=column();
 // WCAG 2.1: relative luminance and contrast ratio, of every element that holds text of its own against what lies behind.
 var channel=function(v){v/=255;return v<=0.03928?v/12.92:Math.pow((v+0.055)/1.055,2.4);};
 var numbers=function(s){return s.match(/[\d.]+/g).map(Number);};
 var light=function(c){return 0.2126*channel(c[0])+0.7152*channel(c[1])+0.0722*channel(c[2])+0.05;};
 r.contrast=21;r.texts=0;
 [].forEach.call(document.querySelectorAll('body *'),function(e){
  if(e.tagName==='SCRIPT'||![].some.call(e.childNodes,function(n){return n.nodeType===3&&n.data.trim();}))return;
  var back=[255,255,255];
  for(var b=e;b;b=b.parentElement){var c=numbers(getComputedStyle(b).backgroundColor);if(c.length<4||c[3]>0){back=c;break;}}
  var p=light(numbers(getComputedStyle(e).color)),q=light(back);
  ++r.texts;r.contrast=Math.min(r.contrast,Math.max(p,q)/Math.min(p,q));
 });
 document.title='PROBE'+JSON.stringify(r)+'END';
});</script>)js";
constexpr const char* kCatch = "<script>window.probeErrors=[];window.addEventListener('error',function(e){"
                               "window.probeErrors.push(e.message);});</script>";

struct ReportPage : testing::Test {
  static void SetUpTestSuite() {
    folder = fs::temp_directory_path() / ("snagmap-report-" + std::to_string(getpid()));
    fs::create_directories(folder);
    preview = new Preview(fixture_preview());
    std::string program;
    for (int i = 1; i <= 300; ++i)
      program += "N" + std::to_string(i) + " G1 X1 <&>\n";
    preview->scene.program_file = (folder / "part.nc").string();
    ASSERT_FALSE(write_whole_file(preview->scene.program_file, program));
    PictureOptions options;
    options.width = 640;
    options.height = 400;
    const auto files = write_pictures(*preview, folder.string(), options);
    ASSERT_TRUE(files);
    html = report_html(*preview, folder.string(), *files);
  }
  static void TearDownTestSuite() {
    fs::remove_all(folder);
    delete preview;
  }
  static fs::path folder;
  static Preview* preview;
  static std::string html;
};
fs::path ReportPage::folder;
Preview* ReportPage::preview = nullptr;
std::string ReportPage::html;

} // namespace

TEST_F(ReportPage, VerdictComesFirstAndEveryPartIsThere) {
  std::size_t at = 0;
  for (const char* part : {"<h1>two pockets</h1>",
                           "1 of 1 web snags with long",
                           "id=\"plan\"",
                           "id=\"decisions\"",
                           "What else stops the job",
                           "Check by hand:",
                           "Checked by",
                           "Cautions",
                           "Contents",
                           "id=\"picture-sheet\"",
                           "id=\"web-0\"",
                           "id=\"picture-web-0\"",
                           "id=\"all-webs\"",
                           "id=\"spots-part\"",
                           "id=\"findings\"",
                           "Rapid in foam",
                           "The program at the spots and findings",
                           "How the snag number was got",
                           "What was assumed",
                           "long: by the metal-cutting textbook",
                           "The scene as read",
                           "Version"}) {
    const std::size_t next = html.find(part, at);
    ASSERT_NE(next, std::string::npos) << part;
    at = next;
  }
  EXPECT_NE(html.find("&lt;none&gt; &amp; &quot;quoted&quot;"), std::string::npos);
  EXPECT_NE(html.find("[sheet] thickness = 40 mm (not given)"), std::string::npos);
  std::string words = std::regex_replace(html.substr(0, html.find("data:image")), std::regex("<[^>]*>"), " ");
  EXPECT_EQ(words.find("safe"), std::string::npos);
}

TEST_F(ReportPage, EachSpotLeadsToItsProgramLine) {
  for (const Spot& spot : preview->spots) {
    const std::string line = std::to_string(spot.program_line);
    EXPECT_NE(html.find("<a href=\"#line-" + line + "\">" + line + "</a>"), std::string::npos);
    EXPECT_NE(html.find("<div id=\"line-" + line + "\" class=\"at\"><code><mark>" +
                        std::string(7 - line.size(), ' ') + line + "  N" + line +
                        " G1 X1 &lt;&amp;&gt;</mark>"),
              std::string::npos);
  }
}

TEST_F(ReportPage, TwoRunsAreTheSameBytes) {
  EXPECT_EQ(report_html(*preview, folder.string(), {"sheet.png"}),
            report_html(*preview, folder.string(), {"sheet.png"}));
}

TEST_F(ReportPage, InchScenesSpeakInch) {
  Preview inch = *preview;
  inch.scene.show_inch = true;
  const std::string text = report_html(inch, folder.string(), {});
  EXPECT_NE(text.find("Lengths in in."), std::string::npos);
  EXPECT_NE(text.find(">0.315</td>"), std::string::npos); // 8 mm
  EXPECT_NE(text.find("flutes reach 0.866 in up the wall, 0.630 in past the pass: S would be 0.60 with "
                      "flutes no longer than "
                      "the pass; free end 0.315 in away"),
            std::string::npos);
}

TEST_F(ReportPage, ChromiumLaysItOutAtThreeWidthsWithoutAnError) {
  if (std::system("command -v chromium >/dev/null") != 0)
    GTEST_SKIP() << "chromium is not installed";
  std::string page = html;
  page.insert(page.find("<style>"), kCatch);
  page.insert(page.rfind("</body>"), kProbe);
  ASSERT_FALSE(write_whole_file((folder / "probe.html").string(), page));
  for (const int width : {520, 900, 1500}) {
    SCOPED_TRACE(width);
    const fs::path profile = folder / ("profile" + std::to_string(width));
    const std::string said =
        output_of("chromium --headless --no-sandbox --disable-gpu --disable-quic --no-first-run "
                  "--disable-background-networking "
                  "--disable-component-update --disable-sync --enable-logging=stderr "
                  "--virtual-time-budget=4000 --user-data-dir=" +
                  profile.string() + " --window-size=" + std::to_string(width) + ",900 --dump-dom file://" +
                  (folder / "probe.html").string() + " 2>&1");
    EXPECT_EQ(said.find("CONSOLE"), std::string::npos);
    std::smatch found;
    const std::size_t from = said.find("<title>PROBE");
    ASSERT_NE(from, std::string::npos) << said.substr(0, 500);
    std::string json = said.substr(from + 12, said.find("END</title>", from) - from - 12);
    json = std::regex_replace(json, std::regex("&quot;"), "\"");
    const auto r = nlohmann::json::parse(json);
    EXPECT_EQ(r["errors"].size(), 0u);
    EXPECT_LE(r["page"].get<int>(), r["width"].get<int>())
        << "nothing, a table least of all, reaches past the right edge";
    EXPECT_EQ(r["noAlt"], 0);
    EXPECT_GE(r["images"].get<int>(), 9);
    EXPECT_EQ(r["deadLinks"], 0);
    EXPECT_GE(r["links"].get<int>(), static_cast<int>(preview->spots.size()) + 1);
    EXPECT_EQ(r["outside"], 0);
    EXPECT_GE(r["contrast"].get<double>(), 4.5); // WCAG 2.1, 1.4.3, level AA
    EXPECT_GT(r["texts"].get<int>(), 100);
    EXPECT_TRUE(r["focused"].get<bool>());
    int last = 0;
    for (const int level : r["headings"]) {
      EXPECT_LE(level, last + 1) << "no heading level is skipped";
      last = level;
    }
    EXPECT_EQ(r["headings"][0], 1);
    auto up = r["up"].get<std::vector<double>>(), down = r["down"].get<std::vector<double>>();
    EXPECT_EQ(up.size(), preview->spots.size());
    EXPECT_TRUE(std::is_sorted(up.begin(), up.end()));
    EXPECT_TRUE(std::is_sorted(down.rbegin(), down.rend()));
    EXPECT_EQ(r["sorted"], "ascending");
    EXPECT_EQ(r["before"], r["down"]) << "worst first without a click";
  }
}

TEST_F(ReportPage, OnAPhoneAPictureIsEnlargedToItsOwnSizeAndALinkOpensWhatIsFolded) {
  if (std::system("command -v chromium >/dev/null") != 0)
    GTEST_SKIP() << "chromium is not installed";
  // The frames hold the page at a phone's width; each is led to a place in it by its address.
  std::string page = html;
  page.insert(page.rfind("</body>"), R"js(<script>addEventListener('load',function(){setTimeout(function(){
 var r={page:document.documentElement.scrollWidth,width:innerWidth},image=document.querySelector('#picture-sheet img');
 r.image=image.clientWidth;r.own=image.naturalWidth;
 r.open=[].filter.call(document.querySelectorAll('details'),function(d){return d.open;}).map(function(d){return d.id;});
 r.text=Math.min.apply(null,[].map.call(document.querySelectorAll('.plan text'),function(t){
  return parseFloat(t.getAttribute('font-size'))*t.ownerSVGElement.getScreenCTM().a;}));
 parent.postMessage(JSON.stringify(r),'*');},100);});</script>)js");
  ASSERT_FALSE(write_whole_file((folder / "phone.html").string(), page));
  ASSERT_FALSE(write_whole_file(
      (folder / "frames.html").string(),
      std::string(
          "<title>none</title><script>var said=[];addEventListener('message',function(e){said.push(e.data);"
          "if(said.length===2)document.title='PROBE['+said.join(',')+']END';});</script>"
          "<iframe width=390 height=800 src=\"phone.html#picture-sheet\"></iframe>"
          "<iframe width=390 height=800 src=\"phone.html#row-2\"></iframe>")));
  const std::string said =
      output_of("chromium --headless --no-sandbox --disable-gpu --disable-quic --no-first-run "
                "--disable-background-networking --disable-component-update --disable-sync "
                "--allow-file-access-from-files --virtual-time-budget=6000 --user-data-dir=" +
                (folder / "profile-phone").string() + " --window-size=900,900 --dump-dom file://" +
                (folder / "frames.html").string() + " 2>/dev/null");
  const std::size_t from = said.find("PROBE[");
  ASSERT_NE(from, std::string::npos) << said.substr(0, 500);
  const auto both = nlohmann::json::parse(std::regex_replace(
      said.substr(from + 5, said.find("END", from) - from - 5), std::regex("&quot;"), "\""));
  for (const auto& one : both) {
    EXPECT_LE(one["page"].get<int>(), one["width"].get<int>());
    EXPECT_GE(one["text"].get<double>(), 9);
    const bool enlarged = one["image"] == one["own"];
    EXPECT_EQ(one["open"].empty(), enlarged) << one; // the other's place lies in a folded part
    if (!enlarged) {
      EXPECT_EQ(one["open"], nlohmann::json::array({"spots-part"}));
    }
  }
  EXPECT_NE(both[0]["open"], both[1]["open"]);
}

TEST_F(ReportPage, TheSheetToSignComesFirstWithABoxForEachWebThatSnags) {
  const std::size_t end = html.find("<nav");
  const std::string sheet = html.substr(0, end);
  for (const char* part : {"part.nc, written ", "pu-22", "stick-out", "Hold-down", "Run time", "Checked by",
                           "Cautions", "Web 0 is decided"})
    EXPECT_NE(sheet.find(part), std::string::npos) << part;
  // From the picture to the web, and back.
  EXPECT_NE(sheet.find("<a href=\"#web-0\" aria-label=\"Web 0\">"), std::string::npos);
  EXPECT_NE(html.find("<a href=\"#plan\">Back to the plan</a>"), std::string::npos);
}

TEST_F(ReportPage, VerifiedSpotsCarryTheirEvidenceAndOthersSayWhyNot) {
  Preview checked = *preview;
  ASSERT_GE(checked.spots.size(), 2u);
  SolidCheck solid;
  solid.verified = true;
  solid.bricks = 4321, solid.unknowns = 15000, solid.right_hand_sides = 12, solid.residual = 8.5e-5;
  solid.mesh_share = 0.034, solid.seconds = 2.5;
  for (double& edge : solid.brick_mm)
    edge = 1.5;
  checked.spots[0].fe = solid;
  checked.spots[1].fe = SolidCheck{};
  checked.spots[1].fe->why_not = unsolved::WebGone{};
  const std::string page = report_html(checked, folder.string(), {});
  for (const char* part : {"4321 bricks", "15000 unknowns", "12 loads", "residual 8.5e-05", "3.4 %", "2.5 s",
                           "the web is gone at this moment"})
    EXPECT_NE(page.find(part), std::string::npos) << part;
}
