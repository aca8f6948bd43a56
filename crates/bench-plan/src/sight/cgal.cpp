// Areas of visibility regions by CGAL's triangular expansion with exact numbers: a judge that shares no code with ours.
// Reads rings (count, then pairs) and places; prints for each place the area seen from it, 0 when it is not on the floor.
#include <CGAL/Arr_naive_point_location.h>
#include <CGAL/Arr_segment_traits_2.h>
#include <CGAL/Arr_trapezoid_ric_point_location.h>
#include <CGAL/Arrangement_2.h>
#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Triangular_expansion_visibility_2.h>
#include <cstdio>
#include <deque>
#include <iostream>
#include <map>
#include <vector>

using Kernel = CGAL::Exact_predicates_exact_constructions_kernel;
using Point = Kernel::Point_2;
using Segment = Kernel::Segment_2;
using Arrangement = CGAL::Arrangement_2<CGAL::Arr_segment_traits_2<Kernel>>;
using Location = CGAL::Arr_trapezoid_ric_point_location<Arrangement>;
using Sight = CGAL::Triangular_expansion_visibility_2<Arrangement, CGAL::Tag_true>;
using Face = Arrangement::Face_const_handle;
using Edge = Arrangement::Halfedge_const_handle;
using Vertex = Arrangement::Vertex_const_handle;

// Every edge divides floor from what is no floor, so the faces alternate from outside in.
std::map<Face, bool> floors(const Arrangement &map) {
  std::map<Face, bool> floor;
  std::deque<Face> open{map.unbounded_face()};
  floor[map.unbounded_face()] = false;
  while (!open.empty()) {
    Face face = open.front();
    open.pop_front();
    auto across = [&](Arrangement::Ccb_halfedge_const_circulator first) {
      auto edge = first;
      do {
        Face other = edge->twin()->face();
        if (!floor.count(other)) {
          floor[other] = !floor[face];
          open.push_back(other);
        }
      } while (++edge != first);
    };
    if (face->has_outer_ccb()) across(face->outer_ccb());
    for (auto hole = face->holes_begin(); hole != face->holes_end(); ++hole) across(*hole);
  }
  return floor;
}

double area(const Arrangement &region) {
  Kernel::FT twice = 0;
  for (auto face = region.faces_begin(); face != region.faces_end(); ++face) {
    if (face->is_unbounded()) continue;
    auto first = face->outer_ccb(), edge = first;
    do {
      const Point &a = edge->source()->point(), &b = edge->target()->point();
      twice += a.x() * b.y() - a.y() * b.x();
    } while (++edge != first);
  }
  return CGAL::to_double(twice) / 2;
}

int main() {
  size_t rings, places;
  std::cin >> rings;
  std::vector<Segment> sides;
  for (size_t r = 0; r < rings; r++) {
    size_t count;
    std::cin >> count;
    std::vector<Point> ring;
    for (size_t i = 0; i < count; i++) {
      double x, y;
      std::cin >> x >> y;
      ring.emplace_back(x, y);
    }
    for (size_t i = 0; i < count; i++)
      if (ring[i] != ring[(i + 1) % count]) sides.emplace_back(ring[i], ring[(i + 1) % count]);
  }
  Arrangement map;
  CGAL::insert(map, sides.begin(), sides.end());
  auto floor = floors(map);
  Location locate(map);
  Sight sight(map);
  std::cin >> places;
  for (size_t i = 0; i < places; i++) {
    double x, y;
    std::cin >> x >> y;
    Point p(x, y);
    auto found = locate.locate(p);
    double sum = 0;
    auto through = [&](Edge edge) {
      if (!floor[edge->face()]) return;
      Arrangement out;
      sight.compute_visibility(p, edge, out);
      sum += area(out);
    };
    if (const Face *face = boost::get<Face>(&found)) {
      if (floor[*face]) {
        Arrangement out;
        sight.compute_visibility(p, *face, out);
        sum = area(out);
      }
    } else if (const Edge *edge = boost::get<Edge>(&found)) {
      through(*edge);
      through((*edge)->twin());
    } else if (const Vertex *vertex = boost::get<Vertex>(&found)) {
      auto first = (*vertex)->incident_halfedges(), edge = first;
      do through(edge);
      while (++edge != first);
    }
    std::printf("%.17g\n", sum);
  }
}
