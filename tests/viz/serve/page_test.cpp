// The page in Chromium: a program is dropped and its report seen; another page, with another origin, reaches
// nothing.
#include "tests/viz/serve/browser.hpp"
#include "tests/viz/serve/served_page.hpp"

#include <atomic>

using namespace snagmap::testing;

namespace {

class PageInBrowser : public ServedPage {
protected:
  void SetUp() override {
    if (!Browser::installed())
      GTEST_SKIP() << "chromium is not installed";
    ServedPage::SetUp();
    serve();
    browser = std::make_unique<Browser>(root / "profile");
  }
  void TearDown() override {
    browser.reset();
    if (!root.empty())
      ServedPage::TearDown();
  }
  std::unique_ptr<Browser> browser;
};

/// A drop as a person's hand makes it: the browser's own event with files in it.
std::string drop(const std::string& name, const std::string& text) {
  return "(() => { const t = new DataTransfer(); t.items.add(new File([" + nlohmann::json(text).dump() +
         "], " + nlohmann::json(name).dump() +
         ")); document.getElementById('drop').dispatchEvent(new DragEvent('drop', {dataTransfer: t, bubbles: "
         "true, "
         "cancelable: true})); return document.getElementById('dropped').textContent; })()";
}

} // namespace

TEST_F(PageInBrowser, AProgramIsDroppedPreviewedAndItsReportSeen) {
  const std::string tab = browser->tab(address);
  EXPECT_EQ(browser->eval(tab, "location.pathname + location.search"), path) << "no token in the address";
  ASSERT_TRUE(browser->wait(tab, "document.querySelectorAll('#cutters .tile').length > 3"));
  EXPECT_EQ(browser->eval(tab, "document.getElementById('go').disabled"), true) << "nothing to preview yet";
  EXPECT_EQ(browser->eval(tab, drop("wall.nc", kTwoSlots)), "wall.nc");
  EXPECT_EQ(browser->eval(tab, "document.getElementById('go').disabled"), true)
      << "no foam is taken for granted";
  browser->eval(tab, "document.querySelector('#looks input[value=\"firm grey sponge\"]').click()");
  browser->eval(tab, "document.querySelectorAll('#cutters input')[0].click(), "
                     "document.getElementById('quick').click(), document.getElementById('go').click()");
  ASSERT_TRUE(browser->wait(tab, "document.querySelector('#shown iframe')"));
  const std::string shown = browser->eval(tab, "document.getElementById('shown').innerText");
  EXPECT_NE(shown.find("wall.nc"), std::string::npos) << shown;
  const Json made = state()["results"][0];
  const std::string listed = browser->eval(tab, "document.querySelector('[data-result=job-1]').innerText");
  EXPECT_NE(listed.find(made["verdict"].get<std::string>()), std::string::npos) << listed;
  EXPECT_NE(slurp("jobs/job-1/result.json").find("pu-32"), std::string::npos) << "the foam that was chosen";
  // The report stands in its frame; from outside its own origin nobody looks into it, this page neither.
  EXPECT_EQ(browser->eval(tab, "document.querySelector('#shown iframe').contentDocument"), nullptr);
  const std::string report = browser->tab(origin() + path + "results/job-1/files/report.html");
  EXPECT_EQ(browser->eval(report, "document.title.length > 0 && document.querySelectorAll('h2').length > 2"),
            true);
  EXPECT_EQ(browser->eval(report, "self.origin"), "null");
  // Two tabs of one page see the same.
  const std::string second = browser->tab(origin() + path);
  ASSERT_TRUE(browser->wait(second, "document.querySelector('[data-result=job-1]')"));
  EXPECT_EQ(browser->errors, std::vector<std::string>{});
}

TEST_F(PageInBrowser, AWrongProgramIsSaidInWordsAndARunningJobCancelled) {
  const std::string tab = browser->tab(address);
  ASSERT_TRUE(browser->wait(tab, "document.querySelectorAll('#cutters .tile').length > 3"));
  browser->eval(
      tab,
      "document.querySelector('#looks input').click(), document.querySelector('#cutters input').click()");
  browser->eval(tab, drop("<img src=x onerror=document.title=1>.nc", "G21\nG1 X5\n"));
  browser->eval(tab, "document.getElementById('go').click()");
  ASSERT_TRUE(browser->wait(tab, "document.querySelector('#jobs li[data-state=failed] pre')"));
  const std::string said = browser->eval(tab, "document.querySelector('#jobs pre').textContent");
  EXPECT_NE(said.find(".nc:2"), std::string::npos) << said;
  EXPECT_EQ(browser->eval(tab, "document.querySelectorAll('img[src=x]').length"), 0) << "a name is text";
  browser->eval(tab, "document.querySelector('#jobs li[data-state=failed] button').click()");
  ASSERT_TRUE(browser->wait(tab, "!document.querySelector('#jobs li')"));
  browser->eval(tab, drop("long.nc", long_program()));
  browser->eval(tab, "document.getElementById('go').click()");
  ASSERT_TRUE(browser->wait(tab, "document.querySelector('#jobs li[data-state=running] progress')"));
  browser->eval(tab, "document.querySelector('#jobs li[data-state=running] button').click()");
  ASSERT_TRUE(browser->wait(tab, "document.querySelector('#jobs li[data-state=cancelled]')"));
  EXPECT_EQ(browser->eval(tab, "document.getElementById('trouble').hidden"), true);
}

TEST_F(PageInBrowser, FitsEveryWidthWithReadableContrastAndNamedFields) {
  for (const int width : {390, 768, 1400}) {
    const std::string tab = browser->tab(address);
    browser->call("Emulation.setDeviceMetricsOverride",
                  {{"width", width}, {"height", 900}, {"deviceScaleFactor", 1}, {"mobile", width < 500}},
                  tab);
    ASSERT_TRUE(browser->wait(tab, "document.querySelectorAll('#cutters .tile').length > 3"));
    EXPECT_EQ(browser->eval(tab, "document.documentElement.scrollWidth <= innerWidth"), true) << width;
    EXPECT_EQ(browser->eval(
                  tab, "[...document.querySelectorAll('input,select')].filter(e => !e.labels.length).length"),
              0);
  }
}

TEST_F(PageInBrowser, APageOfAnotherOriginReachesNothing) {
  // The browser has been here: it holds the cookie.
  const std::string mine = browser->tab(address);
  ASSERT_TRUE(browser->wait(mine, "document.querySelectorAll('#cutters .tile').length > 3"));
  ASSERT_EQ(browser->eval(mine, "fetch('state').then(a => a.status)"), 200);
  const std::string id = ask(request(kTwoSlots));
  ASSERT_TRUE(until([&] { return !result(id).is_null(); }));
  // A hostile page on another port of this machine, the same site to a cookie, that even knows the path.
  std::string stolen;
  httplib::Server hostile;
  hostile.Get(".*", [&](const httplib::Request& from, httplib::Response& to) {
    stolen += from.get_header_value("Cookie");
    to.set_content("<!DOCTYPE html><title>hostile</title>", "text/html");
  });
  const int elsewhere = hostile.bind_to_any_port("127.0.0.1");
  std::thread serving([&] { hostile.listen_after_bind(); });
  const std::string target = origin() + path, body = nlohmann::json(request(kTwoSlots)).dump();
  for (const std::string name : {"127.0.0.1", "localhost"}) {
    SCOPED_TRACE(name);
    const std::string evil = browser->tab("http://" + name + ":" + std::to_string(elsewhere) + "/");
    ASSERT_EQ(browser->eval(evil, "document.title"), "hostile");
    const auto tries = [&](const std::string& code) {
      return browser->eval(evil, "(async () => { try { " + code + " } catch (e) { return 'nothing'; } })()");
    };
    EXPECT_EQ(tries("return await (await fetch('" + target + "state', {credentials: 'include'})).text();"),
              "nothing");
    EXPECT_EQ(tries("return await (await fetch('" + target +
                    "jobs', {method: 'POST', credentials: 'include', headers: "
                    "{'Content-Type': 'application/octet-stream'}, body: " +
                    body + "})).text();"),
              "nothing");
    EXPECT_EQ(tries("const a = await fetch('" + target +
                    "jobs', {method: 'POST', mode: 'no-cors', credentials: 'include', "
                    "body: " +
                    body + "}); return a.type + (await a.text());"),
              "nothing");
    EXPECT_EQ(tries("await fetch('" + target + "results/" + id +
                    "/delete', {method: 'POST', mode: 'no-cors', credentials: "
                    "'include'}); return 'sent';"),
              "nothing");
    tries("const f = document.createElement('form'); f.method = 'post'; f.action = '" + target + "results/" +
          id +
          "/delete'; f.target = 'hole'; const h = document.createElement('iframe'); h.name = 'hole'; "
          "document.body.append(h, f); f.submit(); await new Promise(r => setTimeout(r, 500));");
    EXPECT_EQ(tries("const i = new Image(); i.src = '" + target + "results/" + id +
                    "/files/report.html'; return await new "
                    "Promise(r => { i.onload = () => r('seen'); i.onerror = () => r('nothing'); });"),
              "nothing");
    EXPECT_EQ(tries("const s = document.createElement('script'); s.src = '" + target +
                    "page.js'; return await new "
                    "Promise(r => { s.onload = () => r('ran'); s.onerror = () => r('nothing'); "
                    "document.body.append(s); });"),
              "nothing");
    EXPECT_EQ(tries("const w = document.createElement('iframe'); w.src = '" + target +
                    "'; document.body.append(w); await "
                    "new Promise(r => { w.onload = r; setTimeout(r, 2000); }); return w.contentDocument ? "
                    "'seen' : 'nothing';"),
              "nothing");
  }
  hostile.stop();
  serving.join();
  EXPECT_EQ(stolen, "") << "the cookie stays with its path";
  EXPECT_EQ(state()["jobs"].size() + state()["results"].size(), 1u) << "no job came, no result went";
}

TEST_F(PageInBrowser, AScriptInAResultReachesNothing) {
  // A result as somebody might send one: its list names a page with a script of its own.
  fs::create_directories("jobs/sent");
  const std::string evil =
      "<!DOCTYPE html><title>wait</title><script>const said = [self.origin];"
      "try { said.push('cookie ' + document.cookie); } catch (e) { said.push('no cookie'); }"
      "try { said.push(localStorage.length); } catch (e) { said.push('no storage'); }"
      "const base = location.href.split('results/')[0];"
      "const tries = ['state', 'cards', 'page.js'].map(a => fetch(base + a, {credentials: "
      "'include'}).then(() => 'reached', () => 'nothing'));"
      "tries.push(fetch('http://127.0.0.1:1/').then(() => 'reached', () => 'nothing'));"
      "Promise.all(tries).then(all => { document.title = said.concat(all).join(', '); });</script>";
  put("jobs/sent/report.html", evil);
  put("jobs/sent/snagmap-files.json", "{\"written_by\": \"snagmap\", \"command\": \"preview\", \"files\": "
                                      "[{\"name\": \"report.html\", \"bytes\": " +
                                          std::to_string(evil.size()) + ", \"sha256\": \"0\"}]}");
  const std::string mine = browser->tab(address);
  ASSERT_TRUE(browser->wait(mine, "document.querySelector('[data-result=sent]')"));
  const std::string tab = browser->tab(origin() + path + "results/sent/files/report.html");
  ASSERT_TRUE(browser->wait(tab, "document.title !== 'wait'"));
  EXPECT_EQ(browser->eval(tab, "document.title"),
            "null, no cookie, no storage, nothing, nothing, nothing, nothing");
}
