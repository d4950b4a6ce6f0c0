/* Printing the report and the step sheet.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#pragma once

#include <gtk/gtk.h>
#include "../draw/ef-report-seal.h"
#include "ef-session.h"

G_BEGIN_DECLS

/* Each opens the print dialog over @widget's window and tells what goes wrong through the session. */
void ef_print_report (GtkWidget *widget, EfSession *session);
void ef_print_steps (GtkWidget *widget, EfSession *session);

/* The operations themselves, for printing to a file too. */
GtkPrintOperation *ef_print_report_operation (EfAssessment *assessment, EfReportSeal *seal); /* @seal NULL: not sealed */
GtkPrintOperation *ef_print_steps_operation (EfAssessment *assessment, EfReportSeal *seal);

G_END_DECLS
