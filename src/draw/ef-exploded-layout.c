/* Where the parts of the exploded pump stand, and what is pressed.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The axis runs to the right, or downwards where that leaves the parts larger; it wraps into rows (columns) where one would
 * make them tiny. Across the axis lies the pump's x, so the two shafts run one above (beside) the other; the pump's y is
 * squeezed along the axis, which gives the flat oblique look. Each part has a cell that covers its share of the picture, so
 * that even a pin can be pressed with a finger.
 */
#include "ef-exploded-private.h"

#include <math.h>

#define SMALL_EXTENT 0.30 /* of a small picture along the axis, as share of the pump's half width */
#define ALONG 0.55        /* shortening of lengths along the axis */

static gboolean
overlap_across (const EfExplodedItem *a, const EfExplodedItem *b)
{
  if (a->plan == NULL || b->plan == NULL)
    return (a->plan == NULL) != (b->plan == NULL);
  /* gears in mesh overlap a little at the pitch line: that isn't standing in each other's way */
  return MIN (a->box[2], b->box[2]) - MAX (a->box[0], b->box[0]) > 0.25 * MIN (a->box[2] - a->box[0], b->box[2] - b->box[0]);
}

static double
item_extent (const EfExploded *self, const EfExplodedItem *item, double squeeze)
{
  if (item->plan == NULL)
    return 2 * SMALL_EXTENT * self->reach;
  return squeeze * (item->box[3] - item->box[1]) + ALONG * item->thickness;
}

static void
make_slots (EfExploded *self)
{
  for (guint i = 0; i < self->items->len; i++)
    {
      EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, i);
      EfExplodedSlot *slot = self->slots->len > 0 ? &g_array_index (self->slots, EfExplodedSlot, self->slots->len - 1) : NULL;
      gboolean joins = slot != NULL && slot->n < 3;

      for (guint k = 0; joins && k < slot->n; k++)
        {
          const EfExplodedItem *other = &g_array_index (self->items, EfExplodedItem, slot->first + k);

          joins = other->part->order == item->part->order && !overlap_across (other, item);
        }
      if (!joins)
        {
          EfExplodedSlot fresh = { .first = i };

          g_array_append_val (self->slots, fresh);
          slot = &g_array_index (self->slots, EfExplodedSlot, self->slots->len - 1);
        }
      slot->n++;
      item->slot = self->slots->len - 1;
    }
}

/* Extents of all slots for a squeeze. */
static void
measure_slots (EfExploded *self, double squeeze)
{
  for (guint i = 0; i < self->slots->len; i++)
    {
      EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, i);

      slot->extent = 0;
      for (guint k = 0; k < slot->n; k++)
        slot->extent = MAX (slot->extent, item_extent (self, &g_array_index (self->items, EfExplodedItem, slot->first + k), squeeze));
    }
}

/* Spreads the slots over @rows rows so that the longest is as short as can be (few slots: try each limit). Returns that length. */
static double
fill_rows (EfExploded *self, guint rows)
{
  double limit = 0, sum = 0, longest = 0, step;
  guint row;

  for (guint i = 0; i < self->slots->len; i++)
    {
      double extent = g_array_index (self->slots, EfExplodedSlot, i).extent;

      sum += extent;
      limit = MAX (limit, extent);
    }
  limit = MAX (limit, sum / rows);
  step = 0.02 * sum;
  for (;; limit += step)
    {
      double used = 0;

      row = 0;
      longest = 0;
      for (guint i = 0; i < self->slots->len; i++)
        {
          EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, i);

          if (used > 0 && used + slot->extent > limit * (1 + 1e-9))
            {
              row++;
              used = 0;
            }
          used += slot->extent;
          slot->row = row;
          longest = MAX (longest, used);
        }
      if (row < rows)
        return longest;
    }
}

/* Target units a slot takes at a scale: in a column two lines of name for each part want room. */
static double
slot_length (const EfExploded *self, const EfExplodedSlot *slot, double scale, gboolean upright, gboolean names)
{
  double least = upright ? MAX (slot->n * (names ? 2.5 : 1.5), 3.4) * self->text : 2.2 * self->text;

  return MAX (slot->extent * scale, least);
}

static double
longest_row (const EfExploded *self, guint rows, double scale, gboolean upright, gboolean names)
{
  double longest = 0;

  for (guint row = 0; row < rows; row++)
    {
      double used = 0;

      for (guint i = 0; i < self->slots->len; i++)
        {
          const EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, i);

          used += slot->row == row ? slot_length (self, slot, scale, upright, names) : 0;
        }
      longest = MAX (longest, used);
    }
  return longest;
}

static guint
slots_in_row (const EfExploded *self, guint row)
{
  guint n = 0;

  for (guint i = 0; i < self->slots->len; i++)
    n += g_array_index (self->slots, EfExplodedSlot, i).row == row;
  return n;
}

static guint
most_in_row (const EfExploded *self, guint rows)
{
  guint most = 0;

  for (guint row = 0; row < rows; row++)
    most = MAX (most, slots_in_row (self, row));
  return most;
}

/* One way to lay it out. */
typedef struct
{
  gboolean upright, names;
  guint rows;
  double squeeze, scale, head, foot, band;
} Try;

static void
try_layout (EfExploded *self, Try *t)
{
  double length = t->upright ? self->height : self->width;
  double across = (t->upright ? self->width : self->height) / t->rows;
  double line = 1.3 * self->text, gap, low = 1, high;
  guint most;

  measure_slots (self, t->squeeze);
  fill_rows (self, t->rows);
  most = most_in_row (self, t->rows);
  gap = 0.9 * self->text;
  if (t->upright)
    {
      /* names in a column to the right, the section's name upright to the left */
      t->head = 0;
      t->band = 1.8 * line;
      t->foot = t->names ? CLAMP (0.4 * across, 6 * self->text, 13 * self->text) : 2 * line;
    }
  else
    {
      t->head = t->names ? 3.4 * line : 1.4 * line;
      t->foot = t->names ? 3.4 * line : 1.4 * line;
      t->band = 1.5 * line;
    }
  high = MAX ((across - t->head - t->foot - t->band - 0.8 * line) / (2 * self->reach), 1);
  if (longest_row (self, t->rows, high, t->upright, t->names) <= length - (most + 1) * gap)
    low = high;
  for (int k = 0; k < 30 && high - low > 1e-6 * high; k++)
    {
      double middle = (low + high) / 2;

      if (longest_row (self, t->rows, middle, t->upright, t->names) <= length - (most + 1) * gap)
        low = middle;
      else
        high = middle;
    }
  t->scale = low;
  /* names need width in a row, height in a column */
  if (t->names && !t->upright && (length - gap) / most < 5.6 * self->text)
    t->scale = 1;
  if (t->names && t->upright && (length / most < 2.6 * line || across < 15 * self->text))
    t->scale = 1;
}

static void
choose (EfExploded *self)
{
  static const double squeezes[] = { 0.46, 0.38, 0.30, 0.22 };
  Try best = { 0 };
  double best_score = -1;

  for (int upright = 0; upright < 2; upright++)
    for (int names = 1; names >= 0; names--)
      for (guint rows = 1; rows <= 4; rows++)
        for (guint k = 0; k < G_N_ELEMENTS (squeezes); k++)
          {
            Try t = { .upright = upright, .names = names, .rows = rows, .squeeze = squeezes[k] };
            double score;

            try_layout (self, &t);
            /* size counts, but one row, names and a fuller face are worth something */
            score = t.scale * pow (0.7, rows - 1) * pow (0.97, k) * (names ? 2 : 1);
            if (upright == (self->height > 1.5 * self->width))
              score *= 1.6;
            if (score > best_score)
              {
                best = t;
                best_score = score;
              }
          }
  try_layout (self, &best); /* leaves extents and rows as they are in the best */
  self->upright = best.upright;
  self->names = best.names;
  self->rows = best.rows;
  self->squeeze = best.squeeze;
  self->scale = best.scale;
  self->head = best.head;
  self->foot = best.foot;
  self->band = best.band;
  self->row_size = (best.upright ? self->width : self->height) / best.rows;
}

/* Names and sections stay close to the parts; what is left over goes to both sides. */
double
ef_exploded_row_middle (const EfExploded *self, guint row)
{
  double before = self->upright ? self->band : self->head;
  double after = self->upright ? self->foot : self->foot + self->band;

  return row * self->row_size + before + (self->row_size - before - after) / 2;
}

void
ef_exploded_point (const EfExploded *self, const EfExplodedItem *item, double x, double y, double z, double *px, double *py)
{
  const EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, item->slot);
  double a = item->at + self->scale * (self->squeeze * y + ALONG * z);
  double c = ef_exploded_row_middle (self, slot->row) + self->scale * x + item->cross;

  *px = self->upright ? c : a;
  *py = self->upright ? a : c;
}

/* Evenly spread along each row: what is left over goes between the slots. */
static void
place_slots (EfExploded *self)
{
  double length = self->upright ? self->height : self->width;

  for (guint row = 0; row < self->rows; row++)
    {
      double used = 0, gap, at;
      guint n = slots_in_row (self, row);

      for (guint i = 0; i < self->slots->len; i++)
        {
          EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, i);

          slot->length = slot_length (self, slot, self->scale, self->upright, self->names);
          used += slot->row == row ? slot->length : 0;
        }
      gap = MIN ((length - used) / (n + 1), 6 * self->text);
      at = (length - used - gap * (n - 1)) / 2;
      for (guint i = 0; i < self->slots->len; i++)
        {
          EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, i);

          if (slot->row != row)
            continue;
          slot->start = at;
          at += slot->length + gap;
        }
    }
}

static void
place_item (EfExploded *self, EfExplodedItem *item, guint k, const EfExplodedSlot *slot)
{
  double middle = slot->start + slot->length / 2;
  double own = item_extent (self, item, self->squeeze) * self->scale;
  double x0, y0, x1, y1;

  if (item->plan == NULL)
    {
      item->at = middle - own / 2;
      item->cross = slot->n > 1 ? (k - (slot->n - 1) / 2.0) * 1.1 * self->reach * self->scale : 0;
      x0 = -0.42 * self->reach;
      x1 = -x0;
      item->box[0] = x0;
      item->box[2] = x1;
      ef_exploded_point (self, item, x0, 0, 0, &item->body[0], &item->body[1]);
      ef_exploded_point (self, item, x1, 0, own / self->scale / ALONG, &x1, &y1);
      /* the picture is square, in the middle */
      own = MIN (x1 - item->body[0], y1 - item->body[1]);
      x0 = (item->body[0] + x1 - own) / 2;
      y0 = (item->body[1] + y1 - own) / 2;
      item->body[0] = x0;
      item->body[1] = y0;
      x1 = x0 + own;
      y1 = y0 + own;
    }
  else
    {
      item->at = middle - own / 2 - self->scale * self->squeeze * item->box[1];
      ef_exploded_point (self, item, item->box[0], item->box[1], 0, &x0, &y0);
      ef_exploded_point (self, item, item->box[2], item->box[3], item->thickness, &x1, &y1);
      item->body[0] = MIN (x0, x1);
      item->body[1] = MIN (y0, y1);
    }
  item->body[2] = x1 - item->body[0];
  item->body[3] = y1 - item->body[1];
}

/* The row is cut between slots, and each slot's piece between its parts. */
static void
cut_cells (EfExploded *self)
{
  double length = self->upright ? self->height : self->width;

  for (guint i = 0; i < self->slots->len; i++)
    {
      EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, i);
      const EfExplodedSlot *before = i > 0 ? slot - 1 : NULL;
      const EfExplodedSlot *after = i + 1 < self->slots->len ? slot + 1 : NULL;
      double half = 6 * self->text;
      double from = before != NULL && before->row == slot->row ? (before->start + before->length + slot->start) / 2 : MAX (slot->start - half, 0);
      double to = after != NULL && after->row == slot->row ? (slot->start + slot->length + after->start) / 2 : MIN (slot->start + slot->length + half, length);
      double low = slot->row * self->row_size + (self->upright ? self->band : 0);
      double high = (slot->row + 1) * self->row_size - (self->upright ? 0 : self->band);

      for (guint k = 0; k < slot->n; k++)
        {
          EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, slot->first + k);
          double a = low, b = high;
          double mine = self->upright ? item->body[0] + item->body[2] / 2 : item->body[1] + item->body[3] / 2;

          if (k > 0)
            {
              const EfExplodedItem *other = item - 1;

              a = (mine + (self->upright ? other->body[0] + other->body[2] / 2 : other->body[1] + other->body[3] / 2)) / 2;
            }
          if (k + 1 < slot->n)
            {
              const EfExplodedItem *other = item + 1;

              b = (mine + (self->upright ? other->body[0] + other->body[2] / 2 : other->body[1] + other->body[3] / 2)) / 2;
            }
          item->cell[0] = self->upright ? a : from;
          item->cell[1] = self->upright ? from : a;
          item->cell[2] = self->upright ? b - a : to - from;
          item->cell[3] = self->upright ? to - from : b - a;
        }
    }
}

void
ef_exploded_layout (EfExploded *self)
{
  choose (self);
  place_slots (self);
  for (guint i = 0; i < self->items->len; i++)
    {
      EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, i);
      const EfExplodedSlot *slot = &g_array_index (self->slots, EfExplodedSlot, item->slot);

      place_item (self, item, i - slot->first, slot);
    }
  cut_cells (self);
}

EfExploded *
ef_exploded_new (const EfPumpSheet *sheet, double width, double height)
{
  EfExploded *self = g_new0 (EfExploded, 1);

  self->sheet = ef_pump_sheet_ref ((EfPumpSheet *) sheet);
  self->items = ef_exploded_items (sheet);
  self->slots = g_array_new (FALSE, TRUE, sizeof (EfExplodedSlot));
  self->width = MAX (width, 1);
  self->height = MAX (height, 1);
  self->text = 11;
  self->reach = 1e-3;
  for (guint i = 0; i < self->items->len; i++)
    {
      EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, i);

      if (item->plan != NULL)
        self->reach = MAX (self->reach, MAX (fabs (item->box[0]), fabs (item->box[2])));
    }
  for (guint i = 0; i < self->items->len; i++)
    {
      EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, i);

      item->thickness = MIN (item->thickness, 2.2 * self->reach);
    }
  make_slots (self);
  if (self->items->len > 0)
    ef_exploded_layout (self);
  return self;
}

void
ef_exploded_free (EfExploded *self)
{
  if (self == NULL)
    return;
  g_array_unref (self->items);
  g_array_unref (self->slots);
  ef_pump_sheet_unref (self->sheet);
  g_free (self);
}

const char *
ef_exploded_hit (EfExploded *self, double x, double y)
{
  for (guint i = 0; i < self->items->len; i++)
    {
      const EfExplodedItem *item = &g_array_index (self->items, EfExplodedItem, i);

      if (x >= item->cell[0] && x < item->cell[0] + item->cell[2] && y >= item->cell[1] && y < item->cell[1] + item->cell[3])
        return item->part->id;
    }
  return NULL;
}

guint
ef_exploded_n_parts (EfExploded *self)
{
  return self->items->len;
}

const char *
ef_exploded_part (EfExploded *self, guint i, double box[4])
{
  const EfExplodedItem *item;

  if (i >= self->items->len)
    return NULL;
  item = &g_array_index (self->items, EfExplodedItem, i);
  if (box != NULL)
    for (int k = 0; k < 4; k++)
      box[k] = item->cell[k];
  return item->part->id;
}
