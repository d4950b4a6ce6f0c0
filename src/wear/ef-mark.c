/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-mark.h"
#include "ef-depth-field.h"

#include <math.h>

#define FARTHEST 2.0     /* m from the chart's origin */
#define SMALLEST 1e-6    /* m */
#define WIDEST 0.2       /* m */
#define DEEPEST 0.02     /* m */
#define MOST_NODES 10000

static const struct
{
  const char *name;
  const char *label;
} kinds[EF_N_MARK_KINDS] = {
  [EF_MARK_SCORING] = { "scoring", "Scoring" },
  [EF_MARK_LIP] = { "lip", "Lip" },
  [EF_MARK_GROOVE] = { "groove", "Groove" },
  [EF_MARK_STEP] = { "step", "Step" },
  [EF_MARK_FLAT_SPOT] = { "flat-spot", "Flat spot" },
  [EF_MARK_IMPRINT] = { "imprint", "Imprint" },
  [EF_MARK_PITTING] = { "pitting", "Pitting" },
  [EF_MARK_CHIP] = { "chip", "Chip" },
  [EF_MARK_CRACK] = { "crack", "Crack" },
  [EF_MARK_CORROSION] = { "corrosion", "Corrosion" },
};

static const char *const shapes[EF_N_SHAPES] = { "point", "line", "area" };

static void
clear_depth (gpointer data)
{
  g_free (((EfMarkDepth *) data)->gauge_id);
}

static void
make_arrays (EfMark *mark)
{
  mark->nodes = g_array_new (FALSE, FALSE, sizeof (EfMarkNode));
  mark->depths = g_array_new (FALSE, FALSE, sizeof (EfMarkDepth));
  g_array_set_clear_func (mark->depths, clear_depth);
}

static void
mark_clear (gpointer item)
{
  EfMark *mark = item;

  g_free (mark->face_id);
  g_clear_pointer (&mark->nodes, g_array_unref);
  g_clear_pointer (&mark->depths, g_array_unref);
  g_free (mark->note);
  g_strfreev (mark->photos);
}

static void
mark_copy_fields (gpointer dest,
                  gconstpointer src)
{
  EfMark *to = dest;
  const EfMark *from = src;

  to->face_id = g_strdup (from->face_id);
  to->kind = from->kind;
  to->shape = from->shape;
  to->size = from->size;
  make_arrays (to);
  g_array_append_vals (to->nodes, from->nodes->data, from->nodes->len);
  for (guint i = 0; i < from->depths->len; i++)
    {
      EfMarkDepth depth = g_array_index (from->depths, EfMarkDepth, i);

      depth.gauge_id = g_strdup (depth.gauge_id);
      g_array_append_val (to->depths, depth);
    }
  to->note = g_strdup (from->note);
  to->photos = g_strdupv (from->photos);
  to->number = from->number;
}

static gboolean
same (double a,
      double b)
{
  return a == b || (isnan (a) && isnan (b));
}

static gboolean
same_photos (const EfMark *a,
             const EfMark *b)
{
  if (a->photos == NULL || b->photos == NULL)
    return a->photos == b->photos;

  return g_strv_equal ((const char *const *) a->photos, (const char *const *) b->photos);
}

static gboolean
mark_equal (gconstpointer left,
            gconstpointer right)
{
  const EfMark *a = left;
  const EfMark *b = right;

  if (g_strcmp0 (a->face_id, b->face_id) != 0 || a->kind != b->kind || a->shape != b->shape
      || !same (a->size, b->size) || a->nodes->len != b->nodes->len || a->depths->len != b->depths->len
      || g_strcmp0 (a->note, b->note) != 0 || a->number != b->number || !same_photos (a, b))
    return FALSE;

  for (guint i = 0; i < a->nodes->len; i++)
    {
      const EfMarkNode *m = &g_array_index (a->nodes, EfMarkNode, i);
      const EfMarkNode *n = &g_array_index (b->nodes, EfMarkNode, i);

      if (!same (m->u, n->u) || !same (m->v, n->v))
        return FALSE;
    }
  for (guint i = 0; i < a->depths->len; i++)
    {
      const EfMarkDepth *m = &g_array_index (a->depths, EfMarkDepth, i);
      const EfMarkDepth *n = &g_array_index (b->depths, EfMarkDepth, i);

      if (!same (m->u, n->u) || !same (m->v, n->v) || !same (m->depth, n->depth) || m->unit != n->unit
          || g_strcmp0 (m->gauge_id, n->gauge_id) != 0)
        return FALSE;
    }

  return TRUE;
}

const EfItemClass ef_mark_class = {
  .kind = EF_ITEM_MARK,
  .name = "mark",
  .size = sizeof (EfMark),
  .clear = mark_clear,
  .copy_fields = mark_copy_fields,
  .equal = mark_equal,
};

/* What isn't a number stays so, for ef_mark_check() to refuse. */
static double
on_grid (double metres)
{
  return fabs (metres) < 1e3 ? ef_length_on_grid (metres) : metres;
}

EfMark *
ef_mark_new (const char *face_id,
             EfMarkKind kind,
             EfMarkShape shape,
             double size)
{
  EfMark *mark = ef_item_new (&ef_mark_class, NULL);

  mark->face_id = g_strdup (face_id);
  mark->kind = kind;
  mark->shape = shape;
  mark->size = on_grid (size);
  make_arrays (mark);

  return mark;
}

void
ef_mark_add_node (EfMark *mark,
                  double u,
                  double v)
{
  EfMarkNode node = { on_grid (u), on_grid (v) };

  g_array_append_val (mark->nodes, node);
}

void
ef_mark_add_depth (EfMark *mark,
                   double u,
                   double v,
                   double depth,
                   EfUnit unit,
                   const char *gauge_id)
{
  EfMarkDepth entry = { on_grid (u), on_grid (v), on_grid (depth), unit, g_strdup (gauge_id) };

  g_array_append_val (mark->depths, entry);
}

void
ef_mark_set_depth (EfMark *mark,
                   double depth,
                   EfUnit unit,
                   const char *gauge_id)
{
  EfMarkNode first = { 0, 0 };

  if (mark->nodes->len > 0)
    first = g_array_index (mark->nodes, EfMarkNode, 0);
  g_array_set_size (mark->depths, 0);
  ef_mark_add_depth (mark, first.u, first.v, depth, unit, gauge_id);
}

void
ef_mark_translate (EfMark *mark,
                   double du,
                   double dv)
{
  for (guint i = 0; i < mark->nodes->len; i++)
    {
      EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      node->u = on_grid (node->u + du);
      node->v = on_grid (node->v + dv);
    }
  for (guint i = 0; i < mark->depths->len; i++)
    {
      EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      depth->u = on_grid (depth->u + du);
      depth->v = on_grid (depth->v + dv);
    }
}

/* Range check of one number; @index < 0: no index in the field's name. */
static gboolean
check_number (const EfMark *mark,
              const char *array,
              int index,
              const char *field,
              double value,
              double low,
              double high,
              GError **error)
{
  g_autofree char *place = NULL;

  if (value >= low && value <= high)
    return TRUE;

  place = index >= 0 ? g_strdup_printf ("%s[%d].%s", array, index, field) : g_strdup (field);
  g_set_error (error, EF_ERROR, EF_ERROR_RANGE, "mark %d: %s: expected a length from %g to %g mm, found %g mm",
               mark->number, place, low * 1e3, high * 1e3, value * 1e3);
  return FALSE;
}

/* TRUE when the nodes span no area: all within a nanometre of one straight line. */
static gboolean
spans_no_area (const EfMark *mark)
{
  const EfMarkNode *nodes = (const EfMarkNode *) (gpointer) mark->nodes->data;
  guint far = 0;
  double longest = 0;

  for (guint i = 1; i < mark->nodes->len; i++)
    {
      double d = hypot (nodes[i].u - nodes[0].u, nodes[i].v - nodes[0].v);

      if (d > longest)
        {
          longest = d;
          far = i;
        }
    }
  if (longest <= 1e-9)
    return TRUE;

  for (guint i = 1; i < mark->nodes->len; i++)
    {
      double cross = (nodes[far].u - nodes[0].u) * (nodes[i].v - nodes[0].v)
                     - (nodes[far].v - nodes[0].v) * (nodes[i].u - nodes[0].u);

      if (fabs (cross) > 1e-9 * longest)
        return FALSE;
    }

  return TRUE;
}

static gboolean
check_nodes (const EfMark *mark,
             GError **error)
{
  static const guint least[EF_N_SHAPES] = { 1, 2, 3 };
  guint most = mark->shape == EF_SHAPE_POINT ? 1 : MOST_NODES;

  if (mark->nodes->len < least[mark->shape] || mark->nodes->len > most)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "mark %d: nodes: expected %u to %u places for the shape %s, found %u",
                   mark->number, least[mark->shape], most, shapes[mark->shape], mark->nodes->len);
      return FALSE;
    }
  for (guint i = 0; i < mark->nodes->len; i++)
    {
      const EfMarkNode *node = &g_array_index (mark->nodes, EfMarkNode, i);

      if (!check_number (mark, "nodes", (int) i, "u", node->u, -FARTHEST, FARTHEST, error)
          || !check_number (mark, "nodes", (int) i, "v", node->v, -FARTHEST, FARTHEST, error))
        return FALSE;
    }
  if (mark->shape == EF_SHAPE_AREA && spans_no_area (mark))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_GEOMETRY,
                   "mark %d: nodes: expected an outline that encloses an area, found all places on one straight line",
                   mark->number);
      return FALSE;
    }

  return TRUE;
}

static gboolean
check_depths (const EfMark *mark,
              GError **error)
{
  if (mark->depths->len > MOST_NODES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "mark %d: depths: expected at most %d, found %u",
                   mark->number, MOST_NODES, mark->depths->len);
      return FALSE;
    }
  for (guint i = 0; i < mark->depths->len; i++)
    {
      const EfMarkDepth *depth = &g_array_index (mark->depths, EfMarkDepth, i);

      if (!check_number (mark, "depths", (int) i, "u", depth->u, -FARTHEST, FARTHEST, error)
          || !check_number (mark, "depths", (int) i, "v", depth->v, -FARTHEST, FARTHEST, error)
          || !check_number (mark, "depths", (int) i, "depth", depth->depth, 0, DEEPEST, error))
        return FALSE;
      if (depth->unit < EF_UNIT_M || depth->unit > EF_UNIT_THOU)
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "mark %d: depths[%u].unit: expected a unit of length, found %s",
                       mark->number, i, ef_unit_name (depth->unit));
          return FALSE;
        }
    }

  return TRUE;
}

gboolean
ef_mark_check (const EfMark *mark,
               GError **error)
{
  if (mark->face_id == NULL || *mark->face_id == '\0')
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "mark %d: face: expected the id of a face, found nothing", mark->number);
      return FALSE;
    }
  if ((guint) mark->kind >= EF_N_MARK_KINDS)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "mark %d: kind: expected a kind of mark, found number %d", mark->number, (int) mark->kind);
      return FALSE;
    }
  if ((guint) mark->shape >= EF_N_SHAPES)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "mark %d: shape: expected point, line or area, found number %d", mark->number, (int) mark->shape);
      return FALSE;
    }
  if (mark->shape != EF_SHAPE_AREA && !check_number (mark, NULL, -1, "size", mark->size, SMALLEST, WIDEST, error))
    return FALSE;

  return check_nodes (mark, error) && check_depths (mark, error);
}

double
ef_mark_depth_at (const EfMark *mark,
                  double u,
                  double v)
{
  g_auto (EfDepthField) field = { 0 };

  ef_depth_field_init (&field, mark);
  return ef_depth_field_at (&field, u, v);
}

double
ef_mark_deepest (const EfMark *mark)
{
  double deepest = NAN;

  for (guint i = 0; i < mark->depths->len; i++)
    {
      double depth = g_array_index (mark->depths, EfMarkDepth, i).depth;

      if (!(deepest >= depth))
        deepest = depth;
    }

  return deepest;
}

const char *
ef_mark_kind_name (EfMarkKind kind)
{
  return (guint) kind < EF_N_MARK_KINDS ? kinds[kind].name : "unknown";
}

const char *
ef_mark_kind_label (EfMarkKind kind)
{
  return (guint) kind < EF_N_MARK_KINDS ? kinds[kind].label : "Unknown";
}

gboolean
ef_mark_kind_from_name (const char *name,
                        EfMarkKind *kind_out)
{
  for (guint i = 0; i < EF_N_MARK_KINDS; i++)
    if (g_strcmp0 (name, kinds[i].name) == 0)
      {
        *kind_out = (EfMarkKind) i;
        return TRUE;
      }

  return FALSE;
}

const char *
ef_mark_shape_name (EfMarkShape shape)
{
  return (guint) shape < EF_N_SHAPES ? shapes[shape] : "unknown";
}

gboolean
ef_mark_shape_from_name (const char *name,
                         EfMarkShape *shape_out)
{
  for (guint i = 0; i < EF_N_SHAPES; i++)
    if (g_strcmp0 (name, shapes[i]) == 0)
      {
        *shape_out = (EfMarkShape) i;
        return TRUE;
      }

  return FALSE;
}
