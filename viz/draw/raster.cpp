#include "viz/draw/raster.hpp"

#include "viz/draw/stage.hpp"
#include "viz/draw/vtk_modules.hpp"

#include <vtkBrush.h>
#include <vtkContext2D.h>
#include <vtkContextActor.h>
#include <vtkContextItem.h>
#include <vtkContextScene.h>
#include <vtkImageData.h>
#include <vtkNew.h>
#include <vtkObjectFactory.h>
#include <vtkPen.h>
#include <vtkRect.h>
#include <vtkRenderWindow.h>
#include <vtkRenderer.h>
#include <vtkSmartPointer.h>
#include <vtkTextProperty.h>
#include <vtkUnsignedCharArray.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>

namespace snagmap {
namespace {

constexpr int kFiner = 2; // drawn this much larger each way, then averaged

/// Rows from the top as VTK has them, from below.
vtkSmartPointer<vtkImageData> image_data(int columns, int rows, const std::vector<std::uint8_t>& rgb) {
  auto data = vtkSmartPointer<vtkImageData>::New();
  data->SetDimensions(columns, rows, 1);
  data->AllocateScalars(VTK_UNSIGNED_CHAR, 3);
  auto* const out = static_cast<unsigned char*>(data->GetScalarPointer());
  const std::size_t row = 3u * static_cast<std::size_t>(columns);
  for (int y = 0; y < rows; ++y)
    std::memcpy(out + row * static_cast<std::size_t>(rows - 1 - y),
                rgb.data() + row * static_cast<std::size_t>(y), row);
  return data;
}

/// Paints a Drawing through VTK's 2D context; y turned round, since the context counts from below.
class DrawingItem : public vtkContextItem {
public:
  static DrawingItem* New();
  vtkTypeMacro(DrawingItem, vtkContextItem);
  const Drawing* drawing = nullptr;
  double scale = kFiner; ///< pixels of the window for each of the drawing
  bool Paint(vtkContext2D* context) override {
    for (const Shape& shape : drawing->shapes)
      std::visit([&](const auto& s) { paint(*context, s); }, shape);
    return true;
  }

private:
  std::vector<float> flat(const std::vector<Vec2>& points) const {
    std::vector<float> out;
    out.reserve(2 * points.size());
    for (const Vec2 p : points) {
      out.push_back(static_cast<float>(scale * p.x));
      out.push_back(static_cast<float>(scale * (drawing->height - p.y)));
    }
    return out;
  }
  static void fill(vtkContext2D& context, Colour c) {
    context.GetPen()->SetLineType(vtkPen::NO_PEN);
    context.GetBrush()->SetColor(c.r, c.g, c.b, c.a);
  }
  void paint(vtkContext2D& context, const Line& line) const {
    if (line.points.size() < 2)
      return;
    vtkPen* const pen = context.GetPen();
    pen->SetLineType(line.dashed ? vtkPen::DASH_LINE : vtkPen::SOLID_LINE);
    pen->SetColor(line.colour.r, line.colour.g, line.colour.b, line.colour.a);
    pen->SetWidth(static_cast<float>(scale * line.width));
    std::vector<float> points = flat(line.points);
    context.DrawPoly(points.data(), static_cast<int>(line.points.size()));
  }
  void paint(vtkContext2D& context, const Area& area) const {
    fill(context, area.fill);
    std::vector<float> points = flat(area.points);
    context.DrawPolygon(points.data(), static_cast<int>(area.points.size()));
  }
  void paint(vtkContext2D& context, const Band& band) const {
    fill(context, band.fill);
    for (std::size_t i = 0; i + 1 < std::min(band.low.size(), band.high.size()); ++i) {
      std::vector<float> quad = flat({band.low[i], band.low[i + 1], band.high[i + 1], band.high[i]});
      context.DrawPolygon(quad.data(), 4);
    }
  }
  void paint(vtkContext2D& context, const Text& text) const {
    vtkTextProperty* const type = context.GetTextProp();
    type->SetFontFamilyToArial();
    type->SetFontSize(static_cast<int>(scale * text.size + 0.5));
    type->SetBold(text.bold);
    type->SetColor(text.colour.r / 255.0, text.colour.g / 255.0, text.colour.b / 255.0);
    type->SetOpacity(text.colour.a / 255.0);
    type->SetOrientation(text.upright ? 90 : 0);
    type->SetJustification(text.anchor == Anchor::start ? VTK_TEXT_LEFT
                           : text.anchor == Anchor::end ? VTK_TEXT_RIGHT
                                                        : VTK_TEXT_CENTERED);
    type->SetVerticalJustificationToBottom();
    // The context's "bottom" is the descender line; the baseline lies about a fifth of the size above it.
    const double drop = 0.21 * text.size;
    const double x = text.at.x + (text.upright ? drop : 0), y = text.at.y + (text.upright ? 0 : drop);
    context.DrawString(static_cast<float>(scale * x), static_cast<float>(scale * (drawing->height - y)),
                       vtkStdString(text.words));
  }
  void paint(vtkContext2D& context, const Image& image) const {
    const auto data = image_data(image.columns, image.rows, image.rgb);
    const vtkRectf place(static_cast<float>(scale * image.corner.x),
                         static_cast<float>(scale * (drawing->height - image.corner.y - image.height)),
                         static_cast<float>(scale * image.width), static_cast<float>(scale * image.height));
    context.DrawImage(place, data);
  }
};
vtkStandardNewMacro(DrawingItem)

    /// One window for all pictures: making a GL context costs more than drawing.
    vtkRenderWindow* easel() {
  static const vtkSmartPointer<vtkRenderWindow> window = [] {
    auto made = vtkSmartPointer<vtkRenderWindow>::New();
    made->SetOffScreenRendering(1);
    made->SetMultiSamples(0);
    made->SetNumberOfLayers(2);
    return made;
  }();
  return window;
}

Pixels averaged(const unsigned char* fine, int columns, int rows) {
  Pixels out{columns, rows, {}};
  out.rgb.resize(3u * static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows));
  const std::size_t stride = 3u * kFiner * static_cast<std::size_t>(columns);
  for (int y = 0; y < rows; ++y)
    for (int x = 0; x < columns; ++x)
      for (std::size_t c = 0; c < 3; ++c) {
        unsigned sum = kFiner * kFiner / 2;
        for (std::size_t dy = 0; dy < kFiner; ++dy)
          for (std::size_t dx = 0; dx < kFiner; ++dx)
            sum += fine[(static_cast<std::size_t>(y) * kFiner + dy) * stride +
                        3 * (static_cast<std::size_t>(x) * kFiner + dx) + c];
        const std::size_t row = static_cast<std::size_t>(rows - 1 - y); // VTK's rows run from below
        out.rgb[3 * (row * static_cast<std::size_t>(columns) + static_cast<std::size_t>(x)) + c] =
            static_cast<std::uint8_t>(sum / (kFiner * kFiner));
      }
  return out;
}

} // namespace

struct Overlay::Parts {
  vtkNew<vtkContextActor> actor;
  vtkNew<DrawingItem> item;
  Drawing drawing;
};

Overlay::Overlay(vtkRenderer* renderer) : parts_(std::make_unique<Parts>()) {
  parts_->item->drawing = &parts_->drawing;
  parts_->item->scale = 1;
  parts_->actor->GetScene()->AddItem(parts_->item);
  renderer->AddActor(parts_->actor);
}
Overlay::~Overlay() = default;
void Overlay::show(Drawing drawing) {
  parts_->drawing = std::move(drawing);
  parts_->actor->GetScene()->SetDirty(true);
}

Pixels rasterised(const Drawing& drawing, Stage* stage) {
  vtkRenderWindow* const window = easel();
  window->SetSize(kFiner * drawing.width, kFiner * drawing.height);
  vtkNew<vtkRenderer> paper;
  vtkNew<vtkContextActor> actor;
  vtkNew<DrawingItem> item;
  item->drawing = &drawing;
  actor->GetScene()->AddItem(item);
  paper->AddActor(actor);
  paper->SetLayer(stage ? 1 : 0);
  const Colour ground = drawing.background;
  paper->SetBackground(ground.r / 255.0, ground.g / 255.0, ground.b / 255.0);
  if (stage) {
    stage->renderer()->SetLayer(0);
    window->AddRenderer(stage->renderer());
    stage->renderer()->ResetCameraClippingRange();
  }
  window->AddRenderer(paper);
  window->Render();
  vtkNew<vtkUnsignedCharArray> bytes;
  window->GetPixelData(0, 0, kFiner * drawing.width - 1, kFiner * drawing.height - 1, 0, bytes);
  Pixels out = averaged(bytes->GetPointer(0), drawing.width, drawing.height);
  window->RemoveRenderer(paper);
  if (stage)
    window->RemoveRenderer(stage->renderer());
  return out;
}

Pixels window_pixels(vtkRenderWindow* window) {
  const int* const size = window->GetSize();
  vtkNew<vtkUnsignedCharArray> bytes;
  window->GetPixelData(0, 0, size[0] - 1, size[1] - 1, 0, bytes);
  Pixels out{size[0], size[1], {}};
  const std::size_t row = 3u * static_cast<std::size_t>(size[0]);
  for (int y = size[1] - 1; y >= 0; --y) {
    const unsigned char* const from = bytes->GetPointer(0) + row * static_cast<std::size_t>(y);
    out.rgb.insert(out.rgb.end(), from, from + row);
  }
  return out;
}

} // namespace snagmap
