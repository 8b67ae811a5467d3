// The sheet in space inside the report, as a browser has it: headless Chromium, drawing by software.
#include "viz/report/report.hpp"

#include "sim/answer/answer.hpp"
#include "sim/text/whole_file.hpp"
#include "tests/browser.hpp"
#include "tests/viz/preview_fixture.hpp"
#include "tests/viz/space/unpacked.hpp"
#include "viz/pictures/pictures.hpp"
#include "viz/space/spot_shapes.hpp"

#include <filesystem>
#include <memory>

using namespace snagmap;
namespace fs = std::filesystem;
using Json = nlohmann::json;

namespace {

struct SpacePart : testing::Test {
  static void SetUpTestSuite() {
    folder = fs::temp_directory_path() / ("snagmap-space-" + std::to_string(getpid()));
    fs::create_directories(folder);
    preview = std::make_unique<Preview>(fixture_preview());
    preview->scene.program_file = (folder / "part.nc").string();
    std::string program;
    for (int i = 1; i <= 300; ++i)
      program += "N" + std::to_string(i) + " G1 X1 <&>\n";
    ASSERT_FALSE(write_whole_file(preview->scene.program_file, program));
    preview->answer = std::make_shared<const JobAnswer>(answer_of(*preview));
    PictureOptions options;
    options.width = 640, options.height = 400;
    options.which = {"sheet", "spots"};
    const auto files = write_pictures(*preview, folder.string(), options);
    ASSERT_TRUE(files);
    scene = std::make_unique<SpaceScene>(space_scene(*preview, *preview->answer));
    ASSERT_FALSE(write_whole_file((folder / "report.html").string(),
                                  report_html(*preview, folder.string(), *files, "", scene.get())));
    if (Browser::installed())
      browser = std::make_unique<Browser>(folder / "profile");
  }
  static void TearDownTestSuite() {
    browser.reset(), scene.reset(), preview.reset();
    clear_away(folder);
  }
  void SetUp() override {
    if (!browser)
      GTEST_SKIP() << "chromium is not installed";
    browser->told.clear();
    browser->resize(1400, 900);
  }
  static std::string url() { return "file://" + (folder / "report.html").string(); }
  static void open_turning() {
    browser->open(url());
    ASSERT_TRUE(browser->wait_for("window.snagmapSpace"));
  }
  /// Whether an element takes up room.
  static bool seen(Browser& in, const std::string& selector) {
    return in.value("document.querySelector('" + selector + "').getClientRects().length>0");
  }
  static void wait_for_web() { ASSERT_TRUE(browser->wait_for("snagmapSpace.chosen()")); }

  static fs::path folder;
  static std::unique_ptr<Preview> preview;
  static std::unique_ptr<SpaceScene> scene;
  static std::unique_ptr<Browser> browser;
};
fs::path SpacePart::folder;
std::unique_ptr<Preview> SpacePart::preview;
std::unique_ptr<SpaceScene> SpacePart::scene;
std::unique_ptr<Browser> SpacePart::browser;

} // namespace

TEST_F(SpacePart, OpensFromOneFileWithoutAnyRequestOrError) {
  open_turning();
  int files = 0;
  for (const Json& event : browser->told) {
    const std::string method = event["method"];
    EXPECT_NE(method, "Runtime.exceptionThrown") << event;
    EXPECT_NE(method, "Runtime.consoleAPICalled") << event;
    if (method == "Log.entryAdded") {
      EXPECT_NE(event["params"]["entry"]["level"], "error") << event;
    }
    if (method != "Network.requestWillBeSent")
      continue;
    const std::string asked = event["params"]["request"]["url"];
    files += asked == url();
    EXPECT_TRUE(asked == url() || asked.rfind("data:", 0) == 0 || asked.rfind("blob:", 0) == 0) << asked;
  }
  EXPECT_EQ(files, 1) << "the log of requests holds the page itself";
}

TEST_F(SpacePart, TheBrowserUnpacksThePlacesThatWerePacked) {
  open_turning();
  const Unpacked sheet = unpacked(scene->skin);
  const Json r = browser->value(
      "(()=>{const "
      "p=snagmapSpace.sheet.geometry.attributes.position.array,i=snagmapSpace.sheet.geometry.index.array;"
      "let s=[0,0,0];p.forEach((v,k)=>s[k%3]+=v);return{n:p.length/3,t:i.length/3,s,"
      "c:i.reduce((a,b,k)=>(a+b*(k%97))%1000003,0)}})()");
  EXPECT_EQ(r["n"], sheet.points.size());
  EXPECT_EQ(r["t"], sheet.triangles.size());
  Vec3 sum;
  for (const Vec3& p : sheet.points)
    sum = sum + p;
  // Each place is a 32-bit float in the page: half a unit in the last of its 24 bits.
  const double off = static_cast<double>(sheet.points.size()) * 64 / (1 << 24);
  EXPECT_NEAR(r["s"][0], sum.x, off);
  EXPECT_NEAR(r["s"][1], sum.y, off);
  EXPECT_NEAR(r["s"][2], sum.z, off);
  std::uint64_t corners = 0, k = 0;
  for (const Triangle& t : sheet.triangles)
    for (const std::uint32_t corner : t)
      corners = (corners + corner * (k++ % 97)) % 1000003;
  EXPECT_EQ(r["c"], corners);
}

TEST_F(SpacePart, TheSheetIsDrawnAndTheStillPictureStepsBack) {
  open_turning();
  EXPECT_TRUE(seen(*browser, "#space canvas"));
  EXPECT_FALSE(seen(*browser, "#picture-sheet"));
  // Red where a web tears: the alarm colour has the ratio 213 : 50, which light leaves as it is.
  const Json share = browser->value(
      "(()=>{snagmapSpace.view.drawNow();const c=document.querySelector('#space canvas'),f=document."
      "createElement('canvas');f.width=c.width;f.height=c.height;const "
      "g=f.getContext('2d');g.drawImage(c,0,0);"
      "const d=g.getImageData(0,0,f.width,f.height).data;let red=0,other=0;for(let i=0;i<d.length;i+=4){"
      "if(d[i]>3.5*d[i+1]&&d[i]>60)++red;else if(d[i]!==244||d[i+1]!==246||d[i+2]!==248)++other;}"
      "return[red/(d.length/4),other/(d.length/4)]})()");
  EXPECT_GT(share[0].get<double>(), 0.002);
  EXPECT_GT(share[1].get<double>(), 0.2);
}

TEST_F(SpacePart, EveryWebIsReachedByTabAndDescribedInWords) {
  open_turning();
  const WebRow& row = preview->answer->rows.front();
  bool reached = false;
  for (int n = 0; n < 80 && !reached; ++n) {
    browser->press("Tab", 9);
    reached = browser->value("document.activeElement.dataset.web===\"" + std::to_string(row.web) +
                             "\"&&!!document.activeElement.closest('.space-list')");
  }
  ASSERT_TRUE(reached);
  const std::string words = browser->value("document.activeElement.getAttribute('aria-label')");
  EXPECT_EQ(words.find("Web 0 tears, "), 0u) << words;
  EXPECT_NE(words.find("8.0 mm thick, 24.0 mm high, S 1.60 ("), std::string::npos) << words;
  EXPECT_NE(words.find("program line " + std::to_string(preview->spots[row.spot].program_line)),
            std::string::npos)
      << words;
  browser->call("Input.dispatchKeyEvent",
                {{"type", "keyDown"}, {"key", "Enter"}, {"text", "\r"}, {"windowsVirtualKeyCode", 13}});
  wait_for_web();
}

TEST_F(SpacePart, AChosenWebShowsTheNumbersOfItsBlockAndItsProgramLine) {
  open_turning();
  browser->value("document.querySelector('article .turn a').click()");
  wait_for_web();
  const Json r = browser->value(
      "(()=>{const a=document.querySelectorAll('#web-0 dl > *'),b=document.querySelectorAll('#space-web-0 dl "
      "> "
      "*');const "
      "t=l=>[].map.call(l,e=>e.textContent);return{block:t(a),space:t(b),code:document.querySelector('"
      "#space-web-0 code').textContent}})()");
  const auto block = r["block"].get<std::vector<std::string>>(),
             space = r["space"].get<std::vector<std::string>>();
  ASSERT_GE(block.size(), 10u);
  ASSERT_EQ(space.size(), block.size() + 2) << "the line's own text besides";
  EXPECT_TRUE(std::equal(block.begin(), block.end(), space.begin()));
  EXPECT_EQ(r["code"], "N" + std::to_string(preview->spots.front().program_line) + " G1 X1 <&>");
  EXPECT_TRUE(seen(*browser, "#space-web-0"));
  EXPECT_FALSE(seen(*browser, "#space-whole"));
}

TEST_F(SpacePart, TheSliderLeadsFromRestToTheSolvedShapeAndSaysThatItsSizeMeansNothing) {
  open_turning();
  browser->value("snagmapSpace.choose(0)");
  const auto farthest = [&](int share) -> double {
    return browser->value(
        "(()=>{const s=document.querySelector('.space-lean input');s.value=" + std::to_string(share) +
        ";s.dispatchEvent(new Event('input'));const w=snagmapSpace.chosen(),p=w.shape.geometry."
        "attributes.position.array;let m=0;for(let i=0;i<p.length;i+=3)m=Math.max(m,(p[i]-w."
        "rest[i])*w.toward[0]+(p[i+1]-w.rest[i+1])*w.toward[1]);return m})()");
  };
  const SpotSeen spot(*preview, preview->spots.front());
  ASSERT_TRUE(spot.bent.shape_only);
  // The largest lean of the still picture's shape: at the top, or where the skin has its highest point.
  const double most = scene->webs.front().foam.lean_mm;
  EXPECT_NEAR(most, spot.bent.at_height(spot.spot.question.web.h_mm), 0.05 * most);
  const double float_mm = 64.0 / (1 << 24);
  EXPECT_EQ(farthest(0), 0);
  EXPECT_NEAR(farthest(50), most / 2, 4 * float_mm);
  EXPECT_NEAR(farthest(100), most, 4 * float_mm);
  const std::string words = browser->value("document.querySelector('#space-web-0 .stop').textContent");
  EXPECT_NE(words.find("its size means nothing"), std::string::npos);
}

TEST_F(SpacePart, MouseFingersAndKeysTurnZoomAndChoose) {
  open_turning();
  const auto of_view = [&](const std::string& what) -> double {
    return browser->value("snagmapSpace.view." + what);
  };
  browser->value("document.querySelector('#space').scrollIntoView()");
  browser->value("document.querySelector('#space canvas').focus()");
  const double turn = of_view("turn"), span = of_view("span");
  browser->press("ArrowLeft", 37);
  EXPECT_LT(of_view("turn"), turn);
  browser->press("+", 187);
  EXPECT_LT(of_view("span"), span);
  browser->press("Home", 36);
  EXPECT_EQ(of_view("turn"), turn);
  EXPECT_EQ(of_view("span"), span);
  const Json box =
      browser->value("(()=>{const b=document.querySelector('#space canvas').getBoundingClientRect();"
                     "return[b.left,b.top,b.width,b.height]})()");
  const double x = box[0], y = box[1], wide = box[2], high = box[3];
  const auto finger = [](double fx, double fy, int id) { return Json{{"x", fx}, {"y", fy}, {"id", id}}; };
  const auto touch = [&](const char* type, const Json& points) {
    browser->call("Input.dispatchTouchEvent", {{"type", type}, {"touchPoints", points}});
  };
  const double mx = x + wide / 2, my = y + high / 2;
  touch("touchStart", {finger(mx - 40, my, 1), finger(mx + 40, my, 2)});
  touch("touchMove", {finger(mx - 80, my, 1), finger(mx + 80, my, 2)});
  touch("touchEnd", Json::array());
  EXPECT_NEAR(of_view("span"), span / 2, 0.01 * span) << "fingers twice as far apart: half as much is seen";
  browser->press("Home", 36);
  browser->mouse("mousePressed", mx, my, true);
  browser->mouse("mouseMoved", mx + 50, my, true);
  browser->mouse("mouseReleased", mx + 50, my, false);
  EXPECT_NE(of_view("turn"), turn);
  EXPECT_TRUE(browser->value("snagmapSpace.chosen()===null"));
  browser->press("Home", 36);
  browser->value("new Promise(r=>requestAnimationFrame(()=>setTimeout(r,50)))");
  // A click on the web's red top, beside its number.
  const Json pixel = browser->value("snagmapSpace.view.pixelOf([0,12,0])");
  browser->mouse("mousePressed", x + pixel[0].get<double>(), y + pixel[1].get<double>(), true);
  browser->mouse("mouseReleased", x + pixel[0].get<double>(), y + pixel[1].get<double>(), false);
  wait_for_web();
  browser->press("Escape", 27);
  EXPECT_TRUE(browser->wait_for("snagmapSpace.chosen()===null"));
}

TEST_F(SpacePart, OnPaperAndWithoutWhatItNeedsTheStillPictureStands) {
  open_turning();
  browser->call("Emulation.setEmulatedMedia", {{"media", "print"}});
  EXPECT_FALSE(seen(*browser, "#space canvas"));
  EXPECT_TRUE(seen(*browser, "#picture-sheet"));
  browser->call("Emulation.setEmulatedMedia", {{"media", ""}});
  const auto still = [](Browser& in) {
    in.open(url());
    ASSERT_TRUE(in.wait_for("document.readyState==='complete'"));
    in.value("new Promise(r=>setTimeout(r,300))");
    EXPECT_FALSE(seen(in, "#space canvas"));
    EXPECT_TRUE(seen(in, "#picture-sheet"));
    EXPECT_FALSE(in.value("!!window.snagmapSpace"));
  };
  const Json added = browser->call("Page.addScriptToEvaluateOnNewDocument",
                                   {{"source", "delete window.DecompressionStream"}});
  still(*browser);
  browser->call("Page.removeScriptToEvaluateOnNewDocument", {{"identifier", added["identifier"]}});
  Browser without(folder / "profile-without", {"--disable-3d-apis"});
  still(without);
}

TEST_F(SpacePart, OnAPhoneNothingReachesPastTheEdgeAndThePageCanBeScrolledPast) {
  browser->resize(390, 844);
  open_turning();
  const Json r =
      browser->value("(()=>{const c=document.querySelector('.space-stage').getBoundingClientRect();"
                     "return[document.documentElement.scrollWidth,c.width,c.height]})()");
  EXPECT_LE(r[0].get<double>(), 390);
  EXPECT_GT(r[1].get<double>(), 300);
  EXPECT_LE(r[2].get<double>(), 0.6 * 844);
  browser->value("snagmapSpace.choose(0)");
  EXPECT_LE(browser->value("document.documentElement.scrollWidth").get<double>(), 390);
}

TEST_F(SpacePart, WebsAreTakenInWorstFirstUntilTheirRoomIsFullAndTheReportSaysSo) {
  JobAnswer answer = *preview->answer;
  answer.rows.push_back(answer.rows.front());
  answer.rows.back().web = 1;
  answer.snag = 2;
  const SpaceScene both = space_scene(*preview, answer), one = space_scene(*preview, answer, 1);
  EXPECT_EQ(both.webs.size(), 2u);
  EXPECT_EQ(both.left_out, 0u);
  ASSERT_EQ(one.webs.size(), 1u);
  EXPECT_EQ(one.webs.front().row->web, 0);
  EXPECT_EQ(one.left_out, 1u);
  const std::string words = "Only the worst web is shown close up, to keep this file small; 1 more snags.";
  EXPECT_NE(report_html(*preview, folder.string(), {}, "", &one).find(words), std::string::npos);
  EXPECT_EQ(report_html(*preview, folder.string(), {}, "", &both).find(words), std::string::npos);
}

TEST_F(SpacePart, TwoRunsAreTheSameBytes) {
  const SpaceScene again = space_scene(*preview, *preview->answer);
  EXPECT_EQ(again.skin.bytes, scene->skin.bytes);
  ASSERT_EQ(again.webs.size(), scene->webs.size());
  EXPECT_EQ(again.webs.front().foam.bytes, scene->webs.front().foam.bytes);
  EXPECT_EQ(again.webs.front().cutter.bytes, scene->webs.front().cutter.bytes);
}
