/* List of pump sheets beside the one chosen.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-sheets-page.h"
#include "ef-sheet-editor.h"
#include "ef-sheet-view.h"
#include "ef-sheets.h"
#include "ef-window.h"

#include <glib/gi18n.h>

struct _EfSheetsPage
{
  GtkBox parent_instance;

  GtkListBox *list;
  GtkStack *stack;
  EfSheetView *view;

  EfStore *store; /* borrowed */
  GPtrArray *sheets; /* EfSheetEntry *, as in the list */
};

G_DEFINE_FINAL_TYPE (EfSheetsPage, ef_sheets_page, GTK_TYPE_BOX)

static void
row_selected_cb (EfSheetsPage *self,
                 GtkListBoxRow *row)
{
  const EfSheetEntry *entry;

  if (row == NULL)
    return;
  entry = g_ptr_array_index (self->sheets, gtk_list_box_row_get_index (row));
  ef_sheet_view_set (self->view, entry->sheet, entry->own);
}

static GtkWidget *
make_row (const EfSheetEntry *entry)
{
  GtkWidget *box = gtk_box_new (GTK_ORIENTATION_VERTICAL, 2);
  GtkWidget *name = g_object_new (GTK_TYPE_LABEL, "label", entry->sheet->name, "xalign", 0.0f, "wrap", TRUE, NULL);
  GtkWidget *note = g_object_new (GTK_TYPE_LABEL, "label", entry->own ? _ ("own sheet") : _ ("shipped with the program"),
                                  "xalign", 0.0f, NULL);

  gtk_widget_add_css_class (note, "caption");
  gtk_widget_add_css_class (note, "dim-label");
  gtk_widget_set_margin_top (box, 8);
  gtk_widget_set_margin_bottom (box, 8);
  gtk_box_append (GTK_BOX (box), name);
  gtk_box_append (GTK_BOX (box), note);
  return box;
}

/* Fills the list again and selects the sheet with this id, or the first. */
static void
reload (EfSheetsPage *self,
        const char *select_id)
{
  g_autoptr (GPtrArray) failures = NULL;
  GtkWidget *row;
  EfWindow *window = ef_window_of (GTK_WIDGET (self));
  guint selected = 0;
  guint i;

  while ((row = gtk_widget_get_first_child (GTK_WIDGET (self->list))) != NULL)
    gtk_list_box_remove (self->list, row);
  g_clear_pointer (&self->sheets, g_ptr_array_unref);
  self->sheets = ef_sheets_all (self->store, &failures);
  for (i = 0; i < self->sheets->len; i++)
    {
      const EfSheetEntry *entry = g_ptr_array_index (self->sheets, i);

      gtk_list_box_append (self->list, make_row (entry));
      if (g_strcmp0 (entry->sheet->id, select_id) == 0)
        selected = i;
    }
  for (i = 0; window != NULL && i < failures->len; i++)
    ef_window_toast (window, g_ptr_array_index (failures, i));
  gtk_stack_set_visible_child_name (self->stack, self->sheets->len > 0 ? "sheet" : "none");
  gtk_list_box_select_row (self->list, gtk_list_box_get_row_at_index (self->list, selected));
}

static void
saved_cb (EfSheetsPage *self,
          const char *id)
{
  reload (self, id);
}

static void
edit_cb (EfSheetsPage *self)
{
  GtkListBoxRow *row = gtk_list_box_get_selected_row (self->list);
  const EfSheetEntry *entry;
  EfSheetEditor *editor;

  if (row == NULL || self->store == NULL)
    return;
  entry = g_ptr_array_index (self->sheets, gtk_list_box_row_get_index (row));
  editor = ef_sheet_editor_show (GTK_WINDOW (gtk_widget_get_root (GTK_WIDGET (self))), self->store, entry->sheet, entry->own);
  g_signal_connect_object (editor, "saved", G_CALLBACK (saved_cb), self, G_CONNECT_SWAPPED);
}

static void
ef_sheets_page_dispose (GObject *object)
{
  EfSheetsPage *self = EF_SHEETS_PAGE (object);

  gtk_widget_dispose_template (GTK_WIDGET (self), EF_TYPE_SHEETS_PAGE);
  g_clear_pointer (&self->sheets, g_ptr_array_unref);
  G_OBJECT_CLASS (ef_sheets_page_parent_class)->dispose (object);
}

static void
ef_sheets_page_class_init (EfSheetsPageClass *klass)
{
  GtkWidgetClass *widget_class = GTK_WIDGET_CLASS (klass);

  G_OBJECT_CLASS (klass)->dispose = ef_sheets_page_dispose;
  g_type_ensure (EF_TYPE_SHEET_VIEW);
  gtk_widget_class_set_template_from_resource (widget_class, "/io/github/endfloat/Endfloat/sheets-page.ui");
  gtk_widget_class_bind_template_child (widget_class, EfSheetsPage, list);
  gtk_widget_class_bind_template_child (widget_class, EfSheetsPage, stack);
  gtk_widget_class_bind_template_child (widget_class, EfSheetsPage, view);
  gtk_widget_class_bind_template_callback (widget_class, row_selected_cb);
}

static void
ef_sheets_page_init (EfSheetsPage *self)
{
  gtk_widget_init_template (GTK_WIDGET (self));
  g_signal_connect_object (self->view, "edit", G_CALLBACK (edit_cb), self, G_CONNECT_SWAPPED);
}

void
ef_sheets_page_set_store (EfSheetsPage *self,
                          EfStore *store)
{
  self->store = store;
  reload (self, NULL);
}
