// Programs written for one rule each, and programs made at random from the grammar: what rs274 and our reader
// are both asked to move.
#pragma once

#include <fmt/format.h>

#include <cmath>
#include <random>
#include <string>
#include <vector>

namespace snagmap::witness {

struct RuleProgram {
  std::string rule, text;
};

/// At least 300, a handful for each rule, with places and modes varied. '|' stands for a line's end in the
/// tables.
inline std::vector<RuleProgram> rule_programs() {
  std::vector<RuleProgram> programs;
  const auto add = [&](const std::string& rule, const std::string& lines,
                       const char* head = "G21 G90 G17 G94|") {
    std::string text = head + lines + "|M2|";
    for (char& c : text)
      c = c == '|' ? '\n' : c;
    programs.push_back({rule, text});
  };
  // Values: every operator and function beside known numbers, precedence, signs.
  for (const char* value : {"[1+2*3]",
                            "[[1+2]*3]",
                            "[2**3**2]",
                            "[7-2-1]",
                            "[8/2/2]",
                            "[-5 MOD 3]",
                            "[5 MOD -3]",
                            "[5.5 MOD 2]",
                            "FIX[-2.8]",
                            "FIX[2.8]",
                            "FUP[-2.8]",
                            "FUP[2.2]",
                            "ROUND[2.5]",
                            "ROUND[-2.5]",
                            "ROUND[2.4]",
                            "ABS[-3.25]",
                            "SQRT[2]",
                            "SIN[30]",
                            "COS[60]",
                            "TAN[45]",
                            "ASIN[0.5]",
                            "ACOS[0.5]",
                            "ATAN[1]/[-1]",
                            "ATAN[-1]/[1]",
                            "EXP[1]",
                            "LN[10]",
                            "[1 EQ 1]",
                            "[1 NE 1]",
                            "[2 GT 1]",
                            "[2 GE 2]",
                            "[2 LT 1]",
                            "[2 LE 2]",
                            "[1 AND 0]",
                            "[1 OR 0]",
                            "[1 XOR 1]",
                            "[1 OR 0 AND 0]",
                            "[1+1 EQ 2]",
                            "[2 LT 3 AND 4 LT 5]",
                            "[3 EQ 3.00005]",
                            "[1 EQ 1 + 1]",
                            "-[3]",
                            "-#5",
                            "+#5",
                            "-SIN[30]",
                            "[-#5+2]",
                            "##6",
                            "#[5+1]",
                            "#5",
                            "[#5*#6]",
                            "[1-[2-[3-[4-5]]]]",
                            "[2*3**2]",
                            "[10 MOD 4*3]",
                            "+0. 12 34",
                            "-.5",
                            "1.",
                            "007",
                            "SQRT[ABS[-16]]"})
    add("value", fmt::format("#5=3 #6=5|G1 X{0} F100|Y[{0}+1]", value));
  // Settings take effect after the line; named ones hold in the program.
  for (const char* lines :
       {"#1=4|G1 X#1 F100 #1=6 Y#1|X#1", "#<depth>=2.5|G1 Z-#<depth> F100", "#<_wide>=7|G1 X#<_WIDE> F100",
        "#<a b>=3|G1 X#<ab> Y#<A B> F100", "G1 X[EXISTS[#<no>]] F100", "#<no>=1|G1 X[EXISTS[#<no>]] F100",
        "G1 X3 Y4 Z5 F100|X[#5420+1] Y[#5421*2] Z[#5422-1]",
        "G1 X3 F100|X[#<_x>+1] Y[#<_metric>+#<_absolute>]", "#1=1 #2=2 #3=[#1+#2]|G1 X#3 F100",
        "#30=5|#31=[#30*2]|#[30+2]=9|G1 X#31 Y#32 F100"})
    add("setting", lines);
  // Subprograms, loops and conditions.
  for (const int n : {1, 2, 3, 5, 8}) {
    add("o while", fmt::format("#1=0|o10 while [#1 LT {}]|#1=[#1+1]|G1 X#1 Y[#1*#1] F100|o10 endwhile", n));
    add("o do", fmt::format("#1=0|o10 do|#1=[#1+1]|G1 X#1 F100|o10 while [#1 LT {}]|G1 Y1", n));
    add("o repeat", fmt::format("F100 G91|o10 repeat [{}]|G1 X1 Y2|o10 endrepeat|G90 G1 X0", n));
    add("o if", fmt::format("#1={}|o1 if [#1 EQ 1]|G1 X1 F100|o1 elseif [#1 LT 4]|G1 X2 F100|o1 else|G1 X3 "
                            "F100|o1 endif|G1 Y1",
                            n));
    add("o break",
        fmt::format(
            "F100 #1=0|o1 while [1]|#1=[#1+1]|o2 if [#1 GT {}]|o1 break|o2 endif|G1 X#1|o1 endwhile|Y#1", n));
    add("o continue",
        fmt::format(
            "F100 #1=0|o1 while [#1 LT 6]|#1=[#1+1]|o2 if [#1 EQ {}]|o1 continue|o2 endif|G1 X#1|o1 endwhile",
            n));
    add("o call",
        fmt::format("F100|o7 sub|G1 X[#1+#2] Y#3|o7 endsub|o7 call [{}] [2] [3]|o7 call [1]|G1 Z#1", n));
    add("o return",
        fmt::format(
            "F100|o7 sub|o8 if [#1 GT 2]|o7 return [9]|o8 endif|o7 endsub [5]|o7 call [{}]|G1 X#<_value>",
            n));
    add("o named",
        fmt::format("F100|o<a hole> sub|#<r>=#1|G1 X#<r>|o<a hole> endsub|#<r>=20|o<ahole> call [{}]|Y#<r>",
                    n));
    add("o nested",
        fmt::format("F100|o1 sub|G1 X#1|o1 endsub|o2 sub|o1 call [#1+1]|Y#1|o2 endsub|o2 call [{}]", n));
    add("o recursion",
        fmt::format(
            "F100|o1 sub|G1 X#1|o2 if [#1 GT 1]|o1 call [#1-1]|o2 endif|G1 Y#1|o1 endsub|o1 call [{}]",
            std::min(n, 5)));
    add("m98", fmt::format("F100 G91|M98 P200 L{}|M98 P300|M2|O200|G1 X1 Y2|M99|O300|G90 G1 X0|M99", n));
    add("o nested loops", fmt::format("F100 #1=0|o1 repeat [3]|#1=[#1+1] #2=0|o2 while [#2 LT "
                                      "{}]|#2=[#2+1]|G1 X#1 Y#2|o2 endwhile|o1 endrepeat",
                                      n));
  }
  // Straight moves, modes, units.
  for (const double x : {1.0, -2.5, 12.3456, 100.0}) {
    add("rapid", fmt::format("G0 X{0} Y{1}|Z{0}|X0", x, 2 * x));
    add("line", fmt::format("G1 X{0} F250|Y{1} Z-1|F500 X0", x, x / 2));
    add("incremental", fmt::format("G91 G0 X{0}|G1 Y{0} F100|X{0} Z-1|G90 X0", x));
    add("inch", fmt::format("G20 G0 X{0}|G1 Y{1} F10|G21 X1 F100", x / 10, x / 20));
    add("units between", fmt::format("G1 X{0} F100|G20 Y0.5|G21 Z{0}", x));
    add("g92", fmt::format("G0 X{0}|G92 X0 Y1|G0 X2|G92.2|X3|G92.3|X4|G92.1|X5", x));
    add("g52", fmt::format("G52 X{0} Y1|G0 X2 Y3|G52 X0 Y0|X2", x));
    add("g10 l20", fmt::format("G0 X{0} Y2|G10 L20 P1 X0 Y0|G0 X1 Y1|G10 L20 P0 Z3|Z0", x));
    add("polar", fmt::format("G0 @{0} ^30|G1 ^90 F100|@5|G91 @1 ^10|G90 X0", std::abs(x)));
    add("g28", fmt::format("G0 X{0} Z5|G28 X1|G0 Y{0}|G30 Z6|G28", x));
    add("g53", fmt::format("G0 X{0}|G53 G0 X1 Y2|G53 G1 Z-1 F100", x));
    add("g80 beside", fmt::format("G80 G0 X{0}|G0 G80 G40 G49 Y2|G1 X0 F100", x));
    add("no axes", fmt::format("G0|X{0}|G1 F200|Y1|G1", x));
    add("a zero", fmt::format("G0 X{0} A0. B0 C0.|G1 A0 X1 F100", x));
    add("g43", fmt::format("T1 M6|G43 H1|G0 Z{0}|G43|Z2|G49", x));
    add("outputs", fmt::format("M64 P1|M62 P0|G1 X{0} F100|M65 P1|M63 P0|X0", x));
    add("g64", fmt::format("G64 P0.05 Q0.02|G1 X{0} F100|G61|Y1|G61.1|X0|G64", x));
    add("inverse time", fmt::format("G93 G1 X{0} F2|Y1 F4|G94 F100 X0", x));
    add("comments", fmt::format("(a) G0 (b) X{0} (c)|; all|G1 Y1 F100 ; rest|(MSG, hello)|(DEBUG, x)", x));
    add("n and slash", fmt::format("N10 G0 X{0}|n20g1y2f100|N 3 0 x0", x));
    add("dwell", fmt::format("G1 X{0} F100|G4 P0.5|M0|X0|M1", x));
    add("spindle", fmt::format("S1000 M3|G1 X{0} F100|S2000|Y1|M4|X0|M5", x));
    add("coolant", fmt::format("M7|M8|G1 X{0} F100|M9|X0", x));
    add("tools", fmt::format("T1 M6|G0 X{0}|T2|Y1|M6|X0", x));
  }
  // Arcs: both senses, three planes, both forms, helices, turns.
  for (const char* sense : {"G2", "G3"})
    for (const double r : {2.0, 7.5}) {
      add("arc quarter",
          fmt::format("F100 {0} X{1} Y{1} {2}", sense, r,
                      std::string(sense) == "G2" ? fmt::format("I{}", r) : fmt::format("J{}", r)));
      add("arc long",
          fmt::format("F100 {0} X{1} Y{1} {2}", sense, r,
                      std::string(sense) == "G3" ? fmt::format("I{}", r) : fmt::format("J{}", r)));
      add("arc full", fmt::format("F100 {0} I{1}|{0} X0 Y0 J-{1}", sense, r));
      add("arc helix", fmt::format("F100 {0} X0 Y0 Z-3 I{1}|X{2} Y0 Z-4 I{1}", sense, r, 2 * r));
      add("arc turns", fmt::format("F100 {0} X0 Y0 Z-3 I{1} P3|X{2} P2 I{1} Z0", sense, r, 2 * r));
      add("arc radius", fmt::format("F100 {0} X{1} Y1 R{1}|X0 Y0 R-{1}|X1.5 R{1}", sense, r));
      add("arc g18", fmt::format("F100 G18 {0} X{2} Z0 I{1} K0|Y-1 X0 I-{1}", sense, r, 2 * r));
      add("arc g19", fmt::format("F100 G19 {0} Y{2} Z0 J{1} K0|X2 Y0 J-{1}", sense, r, 2 * r));
      add("arc g18 radius", fmt::format("F100 G18 {0} X{1} Z1 R{1}", sense, r));
      add("arc g90.1", fmt::format("G0 X1 Y1|F100 G90.1 {0} X{2} Y1 I{1} J1|G91.1 X1 I-{3} J0", sense, 1 + r,
                                   1 + 2 * r, r));
      add("arc incremental", fmt::format("F100 G91 {0} X{2} I{1}|Y{2} J{1}", sense, r, 2 * r));
      add("arc inverse time", fmt::format("G93 {0} X{2} I{1} F2", sense, r, 2 * r));
    }
  // Drilling cycles.
  for (const char* back : {"G98", "G99"})
    for (const char* cycle : {"G81", "G82 P0.5", "G83 Q1.5", "G73 Q1.5", "G85", "G89 P0.2"}) {
      add("cycle", fmt::format("F100 G0 Z5|{0} {1} X1 Y1 Z-3 R2|X2|Y3 Z-4|G80|G0 X0", back, cycle));
      add("cycle incremental",
          fmt::format("F100 G0 Z5|{0} G91 {1} X1 Y1 Z-3 R-2 L3|G90 G80|G0 X0", back, cycle));
      add("cycle from below", fmt::format("F100 G0 Z0|{0} {1} X1 Y1 Z-3 R2|X2 R3|G80|G0 X0", back, cycle));
    }
  for (const char* cycle : {"G81", "G83 Q0.7", "G73 Q2"}) {
    add("cycle g18", fmt::format("F100 G18 G0 Y5|{0} X1 Z2 Y-3 R2|X3", cycle));
    add("cycle g19", fmt::format("F100 G19 G0 X5|{0} Y1 Z2 X-3 R2|Y3", cycle));
    add("cycle inch", fmt::format("F10 G20 G0 Z0.5|{0} X0.1 Z-0.3 R0.2|X0.2", cycle), "G90 G17 G94|");
    add("cycle repeats", fmt::format("F100 G0 Z5|{0} X1 Y1 Z-3 R2 L2|X2", cycle));
  }
  add("tapping", "F100 S100 M3 G0 Z5|G84 X1 Z-3 R2 P0.5|X2|G80|M5");
  add("tapping left", "F100 S100 M4 G0 Z5|G74 X1 Z-3 R2 P0.5|X2|G80|M5");
  add("boring", "F100 S100 M3 G0 Z5|G86 X1 Z-3 R2 P0.1|X2|G80|M5");
  // Cutter compensation: both sides, outside and inside corners, arcs, entry and exit.
  for (const char* side : {"G41.1", "G42.1"})
    for (const double d : {1.0, 4.0}) {
      add("comp square",
          fmt::format("F100 G0 X0 Y-10|{0} D{1}|G1 X0 Y0|X20|Y20|X0|Y0|G40 X-10 Y-10", side, d));
      add("comp other way",
          fmt::format("F100 G0 X0 Y-10|{0} D{1}|G1 X0 Y0|Y20|X20|Y0|X0|G40|G1 X-10 Y-10", side, d));
      add("comp sharp",
          fmt::format("F100 G0 X0 Y-10|{0} D{1}|G1 X0 Y0|X20 Y10|X0 Y20|X-20 Y10|G40 Y30", side, d));
      add("comp upright",
          fmt::format("F100 G0 X0 Y-10 Z2|{0} D{1}|G1 X0 Y0|Z-1|X20|Z-2|Y-20|Z1|G40 X9", side, d));
      add("comp arcs",
          fmt::format("F100 G0 X0 Y-10|{0} D{1}|G1 X0 Y0|G2 X10 Y10 I10|G1 X20|G3 X30 Y20 J10|G1 Y30|G40 X0",
                      side, d));
      add("comp arc corners",
          fmt::format("F100 G0 X0 Y-10|{0} D{1}|G1 X0 Y0|X5|G2 X25 Y0 I10|G2 X45 Y0 I10|G1 X60|G40 Y-9", side,
                      d));
      add("comp arc corners other",
          fmt::format("F100 G0 X0 Y-10|{0} D{1}|G1 X0 Y0|X5|G3 X25 Y0 I10|G3 X45 Y0 I10|G1 X60|G40 Y-9", side,
                      d));
      add("comp back", fmt::format("F100 G0 X0 Y-10|{0} D{1}|G1 X0 Y0|X10|X0|Y5|G40 X-9 Y9", side, d));
      add("comp by table",
          fmt::format("F100 G10 L1 P1 R{2} Z0|T1 M6|G0 X0 Y-10|{0} D1|G1 X0 Y0|X20|Y20|G40 X-9 Y30",
                      std::string(side).substr(0, 3), d, d / 2));
    }
  for (const char* lines :
       {"F100|M70|G20 G91 G18 F5|G0 X1|M72|G0 X5 Y5|G2 X7 I1", "M70|G91|M70|G90|M72|G0 X3|X3",
        "o1 sub|M73|G91 G20|G0 X1|o1 endsub|o1 call|G0 X5|o1 call|X9",
        "o1 sub|M70|G91|G0 X1|X1|M72|o1 endsub|G0 X3|o1 call|X9",
        "F99|M70|G18|o1 sub|M73|G19 G91|G0 Y1|o1 return|o1 endsub|o1 call|G3 X4 I2|M72|G3 X6 I1"})
    add("modes saved and restored", lines);
  return programs;
}

/// A program of `lines` lines drawn from the grammar: straight moves, arcs, cycles, modes, parameters, loops
/// and subprograms, all of which a control accepts.
inline std::string random_program(unsigned seed, int lines = 40) {
  std::mt19937 random(seed);
  const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  const auto place = [&] { return 0.01 * (pick(8001) - 4000); };
  std::string text = "G21 G90 G17 G94 G91.1\nF200 S1000\n#1=1\n";
  int label = 100, open = 0;
  std::vector<std::string> ends;
  for (int i = 0; i < lines; ++i) {
    switch (pick(17)) {
    case 0:
      text += fmt::format("G0 X{:.2f} Y{:.2f}\n", place(), place());
      break;
    case 1:
      text += fmt::format("G1 X{:.3f} Z{:.3f} F{}\n", place(), place() / 10, 100 + pick(900));
      break;
    case 2: { // an arc by its radius form: any chord under the diameter
      const double dx = 0.1 + 0.01 * pick(500), dy = 0.01 * pick(500);
      text += fmt::format("G91 {} X{:.2f} Y{:.2f} R{}{:.2f}\nG90\n", pick(2) ? "G2" : "G3", dx, dy,
                          pick(2) ? "" : "-", 0.5 * std::hypot(dx, dy) + 0.1 + 0.01 * pick(300));
      break;
    }
    case 3: // a full turn
      text += fmt::format("{} I{:.2f} J{:.2f} Z{:.2f}\n", pick(2) ? "G2" : "G3", 0.5 + 0.01 * pick(900),
                          0.01 * pick(300), place() / 10);
      break;
    case 4: { // a half turn
      const double dx = 0.2 + 0.02 * pick(300), dy = 0.02 * pick(300);
      text += fmt::format("G91 {} X{:.2f} Y{:.2f} I{:.2f} J{:.2f}\nG90\n", pick(2) ? "G2" : "G3", dx, dy,
                          dx / 2, dy / 2);
      break;
    }
    case 5:
      text += fmt::format("G0 Z10\n{} {} X{:.2f} Y{:.2f} Z{:.2f} R{:.2f}\nX{:.2f}\nG80\n",
                          pick(2) ? "G98" : "G99", pick(2) ? "G81" : "G83 Q2.5", place(), place(),
                          -0.01 * pick(900), 0.5 + 0.01 * pick(300), place());
      break;
    case 6:
      text += fmt::format("#{}=[{:.2f}+#1]\n", 2 + pick(20), place() / 10);
      break;
    case 7:
      text += fmt::format("G1 X#{} Y[#{}*2] F300\n", 2 + pick(20), 2 + pick(20));
      break;
    case 8:
      text +=
          fmt::format("G91 G1 X{:.2f} Y{:.2f} Z{:.2f} F400\nG90\n", place() / 10, place() / 10, place() / 40);
      break;
    case 9:
      text += fmt::format("G92 X{:.2f} Y{:.2f}\nG1 X{:.2f} F100\n{}\n", place(), place(), place(),
                          pick(2) ? "G92.1" : "G92.2");
      break;
    case 10:
      if (open < 3) {
        ++label, ++open;
        if (pick(2)) {
          text += fmt::format("o{} repeat [{}]\n", label, pick(4));
          ends.push_back(fmt::format("o{} endrepeat\n", label));
        } else {
          text +=
              fmt::format("o{0} if [#{1} GT {2}]\nG1 X{2} F100\no{0} else\n", label, 1 + pick(20), pick(5));
          ends.push_back(fmt::format("o{} endif\n", label));
        }
      }
      break;
    case 11:
      if (open > 0) {
        text += ends.back();
        ends.pop_back();
        --open;
      }
      break;
    case 12:
      text += fmt::format("{} M{}\n", pick(2) ? "S2000" : "S500", 3 + pick(3));
      break;
    case 13:
      text += fmt::format("G4 P{:.1f}\n{}\n", 0.1 * (1 + pick(19)), pick(2) ? "M8" : "M9");
      break;
    case 14: // upright arcs
      text += fmt::format("G18 G91 G3 X{0:.2f} Z0 I{1:.2f} K0\nG19 G2 Y{0:.2f} Z0 J{1:.2f} K0\nG17 G90\n",
                          0.4, 0.2);
      break;
    case 15:
      text += fmt::format("G1 @{:.2f} ^{} F150\n", std::abs(place()), pick(360));
      break;
    default:
      text += fmt::format("M98 P900 L{}\n", 1 + pick(2));
    }
  }
  while (!ends.empty()) {
    text += ends.back();
    ends.pop_back();
  }
  return text + "M2\nO900\nG91 G1 X0.5 Y-0.25 F250\nG90\nM99\n";
}

} // namespace snagmap::witness
