/* Items: counted, copied deeply, compared field by field.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/ef-item.h"

#include "base/ef-error.h"
#include "../isolate.h"

typedef struct
{
  EfItem item;
  char *text;
  double value;
} Sample;

static guint cleared;

static void
sample_clear (gpointer item)
{
  g_free (((Sample *) item)->text);
  cleared++;
}

static void
sample_copy (gpointer dest,
             gconstpointer src)
{
  ((Sample *) dest)->text = g_strdup (((const Sample *) src)->text);
  ((Sample *) dest)->value = ((const Sample *) src)->value;
}

static gboolean
sample_equal (gconstpointer a,
              gconstpointer b)
{
  return g_strcmp0 (((const Sample *) a)->text, ((const Sample *) b)->text) == 0 && ((const Sample *) a)->value == ((const Sample *) b)->value;
}

static const EfItemClass sample_class = { EF_ITEM_MARK, "sample", sizeof (Sample), sample_clear, sample_copy, sample_equal };

static void
test_life (void)
{
  Sample *sample = ef_item_new (&sample_class, NULL);

  cleared = 0;
  g_assert_true (g_uuid_string_is_valid (sample->item.id));
  g_assert_true (ef_item_ref (sample) == sample);
  ef_item_unref (sample);
  g_assert_cmpuint (cleared, ==, 0);
  ef_item_unref (sample);
  g_assert_cmpuint (cleared, ==, 1);
  ef_item_unref (NULL);
}

static void
test_copy (void)
{
  Sample *sample = ef_item_new (&sample_class, "a");
  Sample *copy;

  sample->text = g_strdup ("groove");
  sample->value = 0.25;
  copy = ef_item_copy (sample);
  g_assert_true (copy->text != sample->text);
  g_assert_true (ef_item_equal (sample, copy));
  copy->value = 0.5;
  g_assert_false (ef_item_equal (sample, copy));
  copy->value = 0.25;
  g_free (copy->item.id);
  copy->item.id = g_strdup ("b");
  g_assert_false (ef_item_equal (sample, copy));
  g_assert_false (ef_item_equal (sample, NULL));
  g_assert_true (ef_item_equal (NULL, NULL));
  ef_item_unref (sample);
  ef_item_unref (copy);
}

static void
test_error_domain (void)
{
  g_assert_cmpstr (g_quark_to_string (EF_ERROR), ==, "ef-error-quark");
}

int
main (int argc,
      char **argv)
{
  isolated_test_init (&argc, &argv);
  g_test_add_func ("/base/item/life", test_life);
  g_test_add_func ("/base/item/copy", test_copy);
  g_test_add_func ("/base/error/domain", test_error_domain);

  return g_test_run ();
}
