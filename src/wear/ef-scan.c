/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Inside, lengths are in cells: x = (u - u0) / cell, y = (v - v0) / cell.
 */
#include "ef-scan.h"

#include <math.h>
#include <string.h>

#define SLICE (1.0 / EF_SCAN_SAMPLES)
#define MANY_PIECES 200 /* lines of more pieces aren't cut at each piece's top and bottom */

/* One straight edge of an outline, or one capsule of a line. */
typedef struct
{
  double y_min, y_max;
  double x0, y0, x1, y1; /* lower end, upper end */
  double slope;          /* dx/dy; 0 where level */
  double right0, right1; /* capsule: the right side is straight from here to here, round below and above */
  double left0, left1;
  double right_x, left_x; /* x where the straight sides begin */
} Piece;

typedef struct
{
  double left[2], right[2]; /* x at the bottom and at the top of the slice */
} Span;

struct _EfScanner
{
  EfScanGrid grid;
  float *cover;
  guint8 *samples[EF_SCAN_SAMPLES];
  int first, last; /* cells touched in this row; first > last: none */

  gboolean round; /* pieces are capsules */
  double radius;
  GArray *pieces; /* Piece, by y_min */
  GArray *breaks; /* double, sorted: where slices are cut */
  GArray *active; /* guint: pieces that span the slice */
  GArray *spans;  /* Span */
  guint next;     /* the first piece that hasn't begun */
  double y_min, y_max;
};

EfScanner *
ef_scanner_new (const EfScanGrid *grid)
{
  EfScanner *self = g_new0 (EfScanner, 1);

  self->grid = *grid;
  self->cover = g_new0 (float, grid->nu);
  for (int s = 0; s < EF_SCAN_SAMPLES; s++)
    self->samples[s] = g_new0 (guint8, grid->nu);
  self->first = G_MAXINT;
  self->last = -1;
  self->pieces = g_array_new (FALSE, FALSE, sizeof (Piece));
  self->breaks = g_array_new (FALSE, FALSE, sizeof (double));
  self->active = g_array_new (FALSE, FALSE, sizeof (guint));
  self->spans = g_array_new (FALSE, FALSE, sizeof (Span));

  return self;
}

void
ef_scanner_free (EfScanner *self)
{
  if (self == NULL)
    return;

  g_free (self->cover);
  for (int s = 0; s < EF_SCAN_SAMPLES; s++)
    g_free (self->samples[s]);
  g_array_unref (self->pieces);
  g_array_unref (self->breaks);
  g_array_unref (self->active);
  g_array_unref (self->spans);
  g_free (self);
}

/* Share of cell @i that lies right of an end running from @low to @high (low <= high) over the slice. */
static double
right_of (double low,
          double high,
          int i)
{
  double spread = high - low;
  double a = i - low;
  double b = a + 1;
  double over = 0;

  if (spread < 1e-9)
    return CLAMP (b, 0, 1);
  if (b > spread)
    {
      over = b - MAX (spread, a);
      b = spread;
    }
  if (b <= 0 || a >= spread)
    return over;

  a = MAX (a, 0);
  return over + (b * b - a * a) / (2 * spread);
}

/* Adds @weight x what lies right of the end, for the cells where it isn't all or nothing. */
static void
add_end (EfScanner *self,
         double bottom,
         double top,
         float weight)
{
  double low = MIN (bottom, top);
  double high = MAX (bottom, top);
  int from = (int) MAX (floor (low), 0);
  int to = (int) MIN (floor (high), (int) self->grid.nu - 1);

  for (int i = from; i <= to; i++)
    self->cover[i] += weight * (float) right_of (low, high, i);
}

static void
add_cover (EfScanner *self,
           const Span *span,
           double thickness)
{
  double left_high = MAX (span->left[0], span->left[1]);
  double right_high = MAX (span->right[0], span->right[1]);
  int nu = (int) self->grid.nu;
  int from = (int) MAX (floor (MIN (span->left[0], span->left[1])), 0);
  int full = (int) MAX (floor (left_high) + 1, 0);
  int to = (int) MIN (floor (right_high), nu - 1);
  float weight = (float) thickness;

  if (from >= nu || to < 0)
    return;

  add_end (self, span->left[0], span->left[1], weight);
  for (int i = full; i <= to; i++)
    self->cover[i] += weight;
  add_end (self, span->right[0], span->right[1], -weight);
  self->first = MIN (self->first, from);
  self->last = MAX (self->last, MAX (to, MIN (full - 1, nu - 1)));
}

/* Samples at (k + 1/2) / 8 across each cell. */
static void
add_samples (EfScanner *self,
             int slice,
             double left,
             double right)
{
  guint8 *samples = self->samples[slice];
  int most = (int) self->grid.nu * EF_SCAN_SAMPLES;
  int from = (int) ceil (CLAMP (left * EF_SCAN_SAMPLES - 0.5, 0, most));
  int to = (int) ceil (CLAMP (right * EF_SCAN_SAMPLES - 0.5, 0, most)); /* past the last */
  int i, j;

  if (to <= from)
    return;

  i = from / EF_SCAN_SAMPLES;
  j = (to - 1) / EF_SCAN_SAMPLES;
  if (i == j)
    {
      samples[i] |= (guint8) ((0xff << (from % 8)) & (0xff >> (7 - (to - 1) % 8)));
      return;
    }
  samples[i] |= (guint8) (0xff << (from % 8));
  memset (samples + i + 1, 0xff, (gsize) (j - i - 1));
  samples[j] |= (guint8) (0xff >> (7 - (to - 1) % 8));
}

/* Integral of the half chord sqrt (r2 - y2) from a to b. */
static double
chord_integral (double r,
                double a,
                double b)
{
  a = CLAMP (a, -r, r);
  b = CLAMP (b, -r, r);

  return (b * sqrt (r * r - b * b) - a * sqrt (r * r - a * a) + r * r * (asin (b / r) - asin (a / r))) / 2;
}

static double
half_chord (double r,
            double y)
{
  return sqrt (MAX (0, r * r - y * y));
}

static double
side_at (const Piece *piece,
         double r,
         int sign,
         double y)
{
  double straight0 = sign > 0 ? piece->right0 : piece->left0;
  double straight1 = sign > 0 ? piece->right1 : piece->left1;

  /* A level capsule has no straight side: the lower end makes the one side up to the top, the upper end the other. */
  if (straight0 == straight1 ? straight0 > piece->y0 : y < straight0)
    return piece->x0 + sign * half_chord (r, y - piece->y0);
  if (straight0 == straight1 || y > straight1)
    return piece->x1 + sign * half_chord (r, y - piece->y1);
  return (sign > 0 ? piece->right_x : piece->left_x) + piece->slope * (y - straight0);
}

/* Mean of one side of a capsule over [a, b]; @sign +1 the right side, -1 the left. */
static double
side_mean (const Piece *piece,
           double r,
           int sign,
           double a,
           double b)
{
  double straight0 = sign > 0 ? piece->right0 : piece->left0;
  double straight1 = sign > 0 ? piece->right1 : piece->left1;
  double x = sign > 0 ? piece->right_x : piece->left_x;
  double sum = 0;
  double from, to;

  if (a >= straight0 && b <= straight1)
    return x + piece->slope * ((a + b) / 2 - straight0);
  if (b - a < 1e-6)
    return side_at (piece, r, sign, (a + b) / 2);

  to = MIN (b, straight0);
  if (to > a)
    sum += piece->x0 * (to - a) + sign * chord_integral (r, a - piece->y0, to - piece->y0);
  from = MAX (a, straight0);
  to = MIN (b, straight1);
  if (to > from)
    sum += (x + piece->slope * ((from + to) / 2 - straight0)) * (to - from);
  from = MAX (a, straight1);
  if (b > from)
    sum += piece->x1 * (b - from) + sign * chord_integral (r, from - piece->y1, b - piece->y1);

  return sum / (b - a);
}

/* A sloping end with the right mean. */
static void
fit_side (const Piece *piece,
          double r,
          int sign,
          double a,
          double b,
          double end[2])
{
  double mean = side_mean (piece, r, sign, a, b);
  double shift;

  end[0] = side_at (piece, r, sign, a);
  end[1] = side_at (piece, r, sign, b);
  shift = mean - (end[0] + end[1]) / 2;
  end[0] += shift;
  end[1] += shift;
}

static int
compare_spans (gconstpointer left,
               gconstpointer right)
{
  const Span *m = left;
  const Span *n = right;
  double a = m->left[0] + m->left[1];
  double b = n->left[0] + n->left[1];

  return a < b ? -1 : a > b;
}

static void
join_spans (GArray *spans)
{
  guint kept = 0;

  g_array_sort (spans, compare_spans);
  for (guint i = 1; i < spans->len; i++)
    {
      Span *last = &g_array_index (spans, Span, kept);
      const Span *span = &g_array_index (spans, Span, i);

      if (span->left[0] + span->left[1] <= last->right[0] + last->right[1])
        {
          if (span->right[0] + span->right[1] > last->right[0] + last->right[1])
            memcpy (last->right, span->right, sizeof last->right);
        }
      else
        g_array_index (spans, Span, ++kept) = *span;
    }
  g_array_set_size (spans, kept + 1);
}

static void
spans_of_capsules (EfScanner *self,
                   double a,
                   double b)
{
  for (guint k = 0; k < self->active->len; k++)
    {
      const Piece *piece = &g_array_index (self->pieces, Piece, g_array_index (self->active, guint, k));
      double low = MAX (a, piece->y_min);
      double high = MIN (b, piece->y_max);
      Span span;

      if (high - low < (b - a) / 2)
        continue;
      fit_side (piece, self->radius, -1, low, high, span.left);
      fit_side (piece, self->radius, +1, low, high, span.right);
      g_array_append_val (self->spans, span);
    }
  if (self->spans->len > 1)
    join_spans (self->spans);
}

/* Ends sorted by their middles, then paired: even-odd. */
static void
spans_of_edges (EfScanner *self,
                double a,
                double b)
{
  GArray *spans = self->spans;
  guint n = 0;

  g_array_set_size (spans, self->active->len);
  for (guint k = 0; k < self->active->len; k++)
    {
      const Piece *piece = &g_array_index (self->pieces, Piece, g_array_index (self->active, guint, k));
      Span *span = &g_array_index (spans, Span, n++);

      span->left[0] = piece->x0 + piece->slope * (a - piece->y0);
      span->left[1] = piece->x0 + piece->slope * (b - piece->y0);
    }
  if (n > 2)
    g_array_sort (spans, compare_spans);
  else if (n == 2 && compare_spans (&g_array_index (spans, Span, 0), &g_array_index (spans, Span, 1)) > 0)
    {
      Span first = g_array_index (spans, Span, 0);

      g_array_index (spans, Span, 0) = g_array_index (spans, Span, 1);
      g_array_index (spans, Span, 1) = first;
    }
  for (guint k = 0; k + 1 < n; k += 2)
    {
      Span span = g_array_index (spans, Span, k);

      memcpy (span.right, g_array_index (spans, Span, k + 1).left, sizeof span.right);
      g_array_index (spans, Span, k / 2) = span;
    }
  g_array_set_size (spans, n / 2);
}

/* Edges that cross within a slice: what lies between them counts on both sides of the crossing. */
static void
uncross (Span *span)
{
  for (int k = 0; k < 2; k++)
    if (span->left[k] > span->right[k])
      {
        double x = span->left[k];

        span->left[k] = span->right[k];
        span->right[k] = x;
      }
}

/* Pieces that span [a, b]; slices come in rising order. */
static void
update_active (EfScanner *self,
               double a,
               double middle)
{
  guint kept = 0;

  for (guint k = 0; k < self->active->len; k++)
    {
      guint index = g_array_index (self->active, guint, k);

      if (g_array_index (self->pieces, Piece, index).y_max > a)
        g_array_index (self->active, guint, kept++) = index;
    }
  g_array_set_size (self->active, kept);
  for (; self->next < self->pieces->len && g_array_index (self->pieces, Piece, self->next).y_min < middle; self->next++)
    if (g_array_index (self->pieces, Piece, self->next).y_max > a)
      g_array_append_val (self->active, self->next);
}

static void
scan_slice (EfScanner *self,
            int row,
            int slice,
            double a,
            double b)
{
  double sample = row + (slice + 0.5) * SLICE;
  gboolean sampled = sample >= a && sample < b;
  double share = sampled ? (sample - a) / (b - a) : 0;

  update_active (self, a, (a + b) / 2);
  if (self->active->len == 0)
    return;
  g_array_set_size (self->spans, 0);
  if (self->round)
    spans_of_capsules (self, a, b);
  else
    spans_of_edges (self, a, b);

  for (guint k = 0; k < self->spans->len; k++)
    {
      Span *span = &g_array_index (self->spans, Span, k);

      uncross (span);
      add_cover (self, span, b - a);
      if (sampled)
        add_samples (self, slice, span->left[0] + share * (span->left[1] - span->left[0]),
                     span->right[0] + share * (span->right[1] - span->right[0]));
    }
}

static void
hand_out (EfScanner *self,
          int row,
          EfScanFunc func,
          gpointer user_data)
{
  EfScanRow out = { (guint) row, (guint) self->first, (guint) self->last, self->cover, { NULL } };
  gsize n = (gsize) (self->last - self->first + 1);

  if (self->first > self->last)
    return;

  for (int s = 0; s < EF_SCAN_SAMPLES; s++)
    out.samples[s] = self->samples[s];
  func (&out, user_data);

  memset (self->cover + self->first, 0, n * sizeof (float));
  for (int s = 0; s < EF_SCAN_SAMPLES; s++)
    memset (self->samples[s] + self->first, 0, n);
  self->first = G_MAXINT;
  self->last = -1;
}

static int
compare_doubles (gconstpointer a,
                 gconstpointer b)
{
  double left = *(const double *) a;
  double right = *(const double *) b;

  return left < right ? -1 : left > right;
}

static int
compare_pieces (gconstpointer a,
                gconstpointer b)
{
  return compare_doubles (&((const Piece *) a)->y_min, &((const Piece *) b)->y_min);
}

/* Scans the pieces that were collected. */
static void
scan (EfScanner *self,
      EfScanFunc func,
      gpointer user_data)
{
  guint next_break = 0;
  int from = (int) MAX (floor (self->y_min), 0);
  int to = (int) MIN (ceil (self->y_max), self->grid.nv);

  g_array_sort (self->pieces, compare_pieces);
  g_array_sort (self->breaks, compare_doubles);
  g_array_set_size (self->active, 0);
  self->next = 0;

  for (int row = from; row < to; row++)
    {
      for (int slice = 0; slice < EF_SCAN_SAMPLES; slice++)
        {
          double a = MAX (row + slice * SLICE, self->y_min);
          double top = MIN (row + (slice + 1) * SLICE, self->y_max);

          while (a < top)
            {
              double b = top;

              while (next_break < self->breaks->len && g_array_index (self->breaks, double, next_break) <= a)
                next_break++;
              if (next_break < self->breaks->len)
                b = MIN (b, g_array_index (self->breaks, double, next_break));
              scan_slice (self, row, slice, a, b);
              a = b;
            }
        }
      hand_out (self, row, func, user_data);
    }
}

static void
start (EfScanner *self,
       gboolean is_round,
       double radius)
{
  self->round = is_round;
  self->radius = radius;
  self->y_min = INFINITY;
  self->y_max = -INFINITY;
  g_array_set_size (self->pieces, 0);
  g_array_set_size (self->breaks, 0);
}

static void
take_piece (EfScanner *self,
            const Piece *piece)
{
  self->y_min = MIN (self->y_min, piece->y_min);
  self->y_max = MAX (self->y_max, piece->y_max);
  g_array_append_vals (self->pieces, piece, 1);
}

static void
take_edge (EfScanner *self,
           double x0,
           double y0,
           double x1,
           double y1)
{
  Piece piece = { 0 };

  if (y0 == y1)
    return;
  if (y0 < y1)
    piece = (Piece){ .y_min = y0, .y_max = y1, .x0 = x0, .y0 = y0, .x1 = x1, .y1 = y1 };
  else
    piece = (Piece){ .y_min = y1, .y_max = y0, .x0 = x1, .y0 = y1, .x1 = x0, .y1 = y0 };
  piece.slope = (piece.x1 - piece.x0) / (piece.y1 - piece.y0);
  take_piece (self, &piece);
  g_array_append_val (self->breaks, y0);
}

static void
take_capsule (EfScanner *self,
              double x0,
              double y0,
              double x1,
              double y1)
{
  gboolean rising = y0 <= y1;
  Piece piece = { .x0 = rising ? x0 : x1, .y0 = rising ? y0 : y1, .x1 = rising ? x1 : x0, .y1 = rising ? y1 : y0 };
  double dx = piece.x1 - piece.x0;
  double dy = piece.y1 - piece.y0;
  double length = hypot (dx, dy);
  double r = self->radius;
  double nx = length > 0 ? dy / length : 1; /* to the right of the way up */
  double ny = length > 0 ? -dx / length : 0;

  piece.y_min = piece.y0 - r;
  piece.y_max = piece.y1 + r;
  piece.slope = dy > 1e-9 * length ? dx / dy : 0;
  piece.right0 = piece.y0 + r * ny;
  piece.right1 = piece.y1 + r * ny;
  piece.left0 = piece.y0 - r * ny;
  piece.left1 = piece.y1 - r * ny;
  piece.right_x = piece.x0 + r * nx;
  piece.left_x = piece.x0 - r * nx;
  if (piece.slope == 0 && dx != 0) /* as good as level: no straight side to speak of */
    {
      piece.right1 = piece.right0;
      piece.left1 = piece.left0;
    }
  take_piece (self, &piece);
}

static gboolean
reaches (const EfScanner *self,
         double x_min,
         double x_max)
{
  return self->pieces->len > 0 && x_max > 0 && x_min < self->grid.nu && self->y_max > 0 && self->y_min < self->grid.nv;
}

void
ef_scanner_region (EfScanner *self,
                   const EfRegion *region,
                   EfScanFunc func,
                   gpointer user_data)
{
  const EfScanGrid *grid = &self->grid;

  start (self, FALSE, 0);
  for (guint k = 0; k < region->n; k++)
    {
      const EfRing *ring = &region->rings[k];

      for (guint i = 0, j = ring->n - 1; i < ring->n; j = i++)
        take_edge (self, (ring->xy[2 * j] - grid->u0) / grid->cell, (ring->xy[2 * j + 1] - grid->v0) / grid->cell,
                   (ring->xy[2 * i] - grid->u0) / grid->cell, (ring->xy[2 * i + 1] - grid->v0) / grid->cell);
    }
  if (reaches (self, -INFINITY, INFINITY))
    scan (self, func, user_data);
}

void
ef_scanner_mark (EfScanner *self,
                 const EfMark *mark,
                 double shift,
                 EfScanFunc func,
                 gpointer user_data)
{
  const EfMarkNode *nodes = (const EfMarkNode *) (gpointer) mark->nodes->data;
  const EfScanGrid *grid = &self->grid;
  guint n = mark->nodes->len;
  double radius = mark->shape == EF_SHAPE_AREA ? 0 : mark->size / 2 / grid->cell;
  double x_min = INFINITY, x_max = -INFINITY;
  double x = 0, y = 0;

  start (self, mark->shape != EF_SHAPE_AREA, radius);
  for (guint k = 0; k <= n; k++)
    {
      const EfMarkNode *node = &nodes[k % n];
      double next_x = (node->u + shift - grid->u0) / grid->cell;
      double next_y = (node->v - grid->v0) / grid->cell;

      x_min = MIN (x_min, next_x - radius);
      x_max = MAX (x_max, next_x + radius);
      if (mark->shape == EF_SHAPE_AREA && k > 0)
        take_edge (self, x, y, next_x, next_y);
      else if (mark->shape != EF_SHAPE_AREA && (n == 1 ? k == 0 : k > 0 && k < n))
        take_capsule (self, n == 1 ? next_x : x, n == 1 ? next_y : y, next_x, next_y);
      x = next_x;
      y = next_y;
    }
  if (!reaches (self, x_min, x_max))
    return;

  if (self->round && self->pieces->len <= MANY_PIECES)
    for (guint k = 0; k < self->pieces->len; k++)
      {
        const Piece *piece = &g_array_index (self->pieces, Piece, k);

        g_array_append_val (self->breaks, piece->y_min);
        g_array_append_val (self->breaks, piece->y_max);
      }
  scan (self, func, user_data);
}
