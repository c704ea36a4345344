from django.contrib.auth.decorators import login_not_required
from django.urls import path

from proshop.accounts import views

urlpatterns = [
    path("sign-in/forgotten/", login_not_required(views.Forgotten.as_view()), name="forgotten"),
    path("sign-in/forgotten/sent/", login_not_required(views.sent), name="forgotten-sent"),
    path(
        "choose-password/<uidb64>/<token>/",
        login_not_required(views.Choose.as_view()),
        name="choose-password",
    ),
    path("sign-in/chosen/", login_not_required(views.chosen), name="password-chosen"),
    path("account/", views.account, name="account"),
    path("account/password/", views.change_password, name="change-password"),
]
