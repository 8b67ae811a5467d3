// The page's addresses. Each answer is a view of the line and of the folder; nothing is computed here.
#pragma once

#include "models/base/fault.hpp"
#include "viz/jobs/line.hpp"
#include "viz/serve/guard.hpp"

#include <functional>
#include <memory>

namespace snagmap {

class PageServer {
public:
  /// Takes the port (0: any that is free). `address` in digits. Fault: it cannot be taken.
  static Outcome<std::unique_ptr<PageServer>> open(ServedFolder& folder, JobLine& line,
                                                   const std::string& address, int port);
  ~PageServer();
  const Guard& guard() const { return guard_; }
  /// Answers until `go_on` says no, which is asked ten times a second.
  void run(const std::function<bool()>& go_on);

private:
  struct Http;
  PageServer(ServedFolder& folder, JobLine& line);
  void routes();
  ServedFolder& folder_;
  JobLine& line_;
  Guard guard_;
  std::unique_ptr<Http> http_;
};

} // namespace snagmap
