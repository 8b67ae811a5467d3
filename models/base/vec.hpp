// Points and directions: plain aggregates, millimetres unless a name says otherwise.
#pragma once

#include <cmath>

namespace snagmap {

struct Vec2 {
  double x = 0, y = 0;
};
struct Vec3 {
  double x = 0, y = 0, z = 0;
};

inline Vec2 operator+(Vec2 a, Vec2 b) {
  return {a.x + b.x, a.y + b.y};
}
inline Vec2 operator-(Vec2 a, Vec2 b) {
  return {a.x - b.x, a.y - b.y};
}
inline Vec2 operator*(double k, Vec2 a) {
  return {k * a.x, k * a.y};
}
inline double dot(Vec2 a, Vec2 b) {
  return a.x * b.x + a.y * b.y;
}
inline double cross(Vec2 a, Vec2 b) {
  return a.x * b.y - a.y * b.x;
}
inline double norm(Vec2 a) {
  return std::sqrt(dot(a, a));
}
/// a turned a quarter turn anticlockwise.
inline Vec2 left_of(Vec2 a) {
  return {-a.y, a.x};
}

inline Vec3 operator+(Vec3 a, Vec3 b) {
  return {a.x + b.x, a.y + b.y, a.z + b.z};
}
inline Vec3 operator-(Vec3 a, Vec3 b) {
  return {a.x - b.x, a.y - b.y, a.z - b.z};
}
inline Vec3 operator*(double k, Vec3 a) {
  return {k * a.x, k * a.y, k * a.z};
}
inline double dot(Vec3 a, Vec3 b) {
  return a.x * b.x + a.y * b.y + a.z * b.z;
}
inline double norm(Vec3 a) {
  return std::sqrt(dot(a, a));
}
inline Vec2 xy(Vec3 a) {
  return {a.x, a.y};
}

/// An axis-aligned box, mm.
struct Box3 {
  Vec3 low, high;
};

} // namespace snagmap
